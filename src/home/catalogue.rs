//! `catalogue.csv` and `mailers.csv`: what can be sent, and what in.
//!
//! Handed the text of the file; promises rows whose keys are distinct and whose cells fit together, or every
//! fault of the file. An empty cell is an unknown, never zero: a zero is a fault.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::fault::Fault;
use super::repeats::repeats;
use super::sheet::{self, Others, Row};
use crate::model::bound::Bound;
use crate::model::catalogue::{Article, Catalogue, Code, Contents, Kind};
use crate::model::mailer::Mailer;
use crate::model::mass::{Mass, Weight};
use crate::model::money::Currency;

/// The files' names.
pub(super) const CATALOGUE: &str = "catalogue.csv";
pub(super) const MAILERS: &str = "mailers.csv";

const ARTICLE_COLUMNS: [&str; 20] = [
    "code",
    "title",
    "aliases",
    "kind",
    "width_mm",
    "height_mm",
    "thickness_mm",
    "mass_g",
    "mass_sd_g",
    "roll_share",
    "card_width_mm",
    "card_height_mm",
    "contains",
    "price",
    "cost",
    "on_hand",
    "place",
    "customs_description",
    "hs_code",
    "origin",
];

const MAILER_COLUMNS: [&str; 9] =
    ["code", "title", "inner_width_mm", "inner_length_mm", "max_thickness_mm", "tare_g", "cost", "on_hand", "reused"];

const KINDS: [(&str, Kind); 4] =
    [("pin", Kind::Pin), ("carded", Kind::Carded), ("flat", Kind::Flat), ("other", Kind::Other)];

const CONTENTS: [(&str, Contents); 2] =
    [(Contents::ButtonCell.code(), Contents::ButtonCell), (Contents::Magnet.code(), Contents::Magnet)];

const YES_OR_NO: [(&str, bool); 8] = [
    ("yes", true),
    ("no", false),
    ("true", true),
    ("false", false),
    ("1", true),
    ("0", false),
    ("TRUE", true),
    ("FALSE", false),
];

/// The articles of `catalogue.csv`, with prices in `currency`.
pub(super) fn articles(text: &str, currency: Currency, faults: &mut Vec<Fault>) -> Catalogue {
    let rows = sheet::rows(CATALOGUE, text, &ARTICLE_COLUMNS, Others::Refused, faults);
    distinct_codes(&rows, faults);
    let articles: Vec<(&Row<'_>, Article)> =
        rows.iter().filter_map(|row| Some((row, article(row, currency, faults)?))).collect();
    clashing_aliases(&articles, faults);
    Catalogue::new(articles.into_iter().map(|(_, article)| article))
}

/// The mailers of `mailers.csv`, in the order of the file.
pub(super) fn mailers(text: &str, currency: Currency, faults: &mut Vec<Fault>) -> Vec<Mailer> {
    let rows = sheet::rows(MAILERS, text, &MAILER_COLUMNS, Others::Refused, faults);
    distinct_codes(&rows, faults);
    rows.iter().filter_map(|row| mailer(row, currency, faults)).collect()
}

fn distinct_codes(rows: &[Row<'_>], faults: &mut Vec<Fault>) {
    for (first, row) in repeats(rows, |row| Some(row.cell("code")).filter(|code| !code.is_empty())) {
        faults.push(row.fault("code", format!("stands in line {} already; each code once", first.line)));
    }
}

/// An alias that is another article's code is never reached, and one that is another's title makes that title
/// mean two things. Two articles that share an alias are left alone: an order that uses it is asked about.
fn clashing_aliases(articles: &[(&Row<'_>, Article)], faults: &mut Vec<Fault>) {
    let mut names: BTreeMap<String, Vec<(&Code, &str)>> = BTreeMap::new();
    for (_, article) in articles {
        names.entry(Catalogue::fold(&article.code.0)).or_default().push((&article.code, "code"));
        names.entry(Catalogue::fold(&article.title)).or_default().push((&article.code, "title"));
    }
    for (row, article) in articles {
        for alias in &article.aliases {
            let others = names.get(&Catalogue::fold(alias)).into_iter().flatten();
            if let Some((code, what)) = others.into_iter().find(|(code, _)| **code != article.code) {
                let mend = format!("is the {what} of `{code}` too; remove it here, or from there");
                faults.push(Fault { value: Some(alias.clone()), ..row.fault("aliases", mend) });
            }
        }
    }
}

fn article(row: &Row<'_>, currency: Currency, faults: &mut Vec<Fault>) -> Option<Article> {
    let before = faults.len();
    let code = row.must("code", faults).map(|code| Code(code.to_owned()));
    let title = row.must("title", faults).map(str::to_owned);
    row.must("kind", faults);
    let kind = row.word("kind", &KINDS, faults);
    let mut length = |column| row.mm(column, faults);
    let (width, height, thickness) = (length("width_mm"), length("height_mm"), length("thickness_mm"));
    let card = length("card_width_mm").zip(length("card_height_mm"));
    card_fits(row, kind, faults);
    let mass = row.g("mass_g", faults);
    let mass_sd = row.not_negative("mass_sd_g", Weight::BOUND, faults).map(Mass::from_g);
    let roll_share = row.positive("roll_share", Bound::FACTOR, faults).unwrap_or(Decimal::ONE);
    let contains = row.word("contains", &CONTENTS, faults);
    let (price, cost) = (row.money("price", currency, faults), row.money("cost", currency, faults));
    let on_hand = row.whole("on_hand", faults);
    let hs_code = row.parsed("hs_code", faults);
    let origin = row.parsed("origin", faults);
    let article = Article {
        code: code?,
        title: title?,
        aliases: aliases(row.cell("aliases")),
        kind: kind?,
        width,
        height,
        thickness,
        mass,
        mass_sd,
        roll_share,
        card,
        contains,
        price,
        cost,
        on_hand,
        place: row.cell("place").to_owned(),
        customs_description: some(row.cell("customs_description")),
        hs_code,
        origin,
    };
    (faults.len() == before).then_some(article)
}

/// A carded pin is wrapped by the size of its card, so a card of unknown size can't be wrapped at all.
fn card_fits(row: &Row<'_>, kind: Option<Kind>, faults: &mut Vec<Fault>) {
    for (column, other) in [("card_width_mm", "card_height_mm"), ("card_height_mm", "card_width_mm")] {
        let carded = matches!(kind, Some(Kind::Carded));
        if row.cell(column).is_empty() && (carded || !row.cell(other).is_empty()) {
            let mend = if carded {
                "is empty; a carded pin needs the size of its card"
            } else {
                "is empty; a card has a width and a height"
            };
            faults.push(row.fault(column, mend));
        }
    }
}

/// Several aliases stand in one cell with a bar or a semicolon between them.
fn aliases(cell: &str) -> Vec<String> {
    cell.split(['|', ';']).map(str::trim).filter(|alias| !alias.is_empty()).map(str::to_owned).collect()
}

fn some(cell: &str) -> Option<String> {
    (!cell.is_empty()).then(|| cell.to_owned())
}

fn mailer(row: &Row<'_>, currency: Currency, faults: &mut Vec<Fault>) -> Option<Mailer> {
    let before = faults.len();
    let code = row.must("code", faults).map(str::to_owned);
    let title = some(row.cell("title")).or_else(|| code.clone());
    let mut must = |column| {
        row.must(column, faults)?;
        row.mm(column, faults)
    };
    let (width, length, thickness) = (must("inner_width_mm"), must("inner_length_mm"), must("max_thickness_mm"));
    let tare = row.must("tare_g", faults).is_some().then(|| row.g("tare_g", faults)).flatten();
    let cost = row.money("cost", currency, faults);
    let on_hand = row.whole("on_hand", faults);
    let reused = row.word("reused", &YES_OR_NO, faults).unwrap_or(false);
    let mailer = Mailer {
        code: code?,
        title: title?,
        inner_width: width?,
        inner_length: length?,
        max_thickness: thickness?,
        tare: tare?,
        cost,
        on_hand,
        reused,
    };
    (faults.len() == before).then_some(mailer)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::customs::HsCode;
    use rust_decimal::dec;

    const HEADER: &str = "code,title,aliases,kind,width_mm,height_mm,thickness_mm,mass_g,mass_sd_g,roll_share,\
        card_width_mm,card_height_mm,contains,price,cost,on_hand,place,customs_description,hs_code,origin\n";

    fn read(rows: &str) -> (Catalogue, Vec<String>) {
        let mut faults = Vec::new();
        let catalogue = articles(&format!("{HEADER}{rows}"), Currency::USD, &mut faults);
        (catalogue, faults.iter().map(Fault::to_string).collect())
    }

    #[test]
    fn an_empty_cell_is_unknown_and_a_zero_is_a_fault() {
        let (catalogue, faults) = read("A,Buoy,,pin,,,,,,,,,,,,,,,,\n");
        assert_eq!(faults, [] as [&str; 0]);
        let article = catalogue.iter().next().unwrap();
        assert_eq!((article.mass, article.width, article.on_hand, article.roll_share), (None, None, None, dec!(1)));
        let (_, faults) = read("A,Buoy,,pin,,,,0,,,,,,,,,,,,\n");
        let expected =
            "catalogue.csv, line 2, column `mass_g`: `0` is not above zero; leave the cell empty where it isn't known";
        assert_eq!(faults, [expected]);
    }

    #[test]
    fn every_fault_of_every_row_is_told() {
        let (_, faults) = read(
            "A,Buoy,,pin,30,28,10,\"9,5\",0.4,,,,,6.00,,12,S1,,,\n\
             B,Tern,,badge,30,28,10,9.5,0.4,,,,lamp,six,,-2,S1,,12,Atlantis\n\
             A,Gull,,carded,30,28,10,9.5,0.4,,55,,,6.00,,,S1,,,\n\
             ,,,pin,,,,,,,,,,,,,,,,\n",
        );
        let expected = [
            "catalogue.csv, line 4, column `code`: `A` stands in line 2 already; each code once",
            "catalogue.csv, line 2, column `mass_g`: `9,5` is not a number; write it with a point, such as 9.5",
            "catalogue.csv, line 3, column `kind`: `badge` is none of the words that can stand here; write pin, carded, \
             flat or other",
            "catalogue.csv, line 4, column `card_height_mm`: is empty; a carded pin needs the size of its card",
            "catalogue.csv, line 5, column `code`: is empty; fill it in",
            "catalogue.csv, line 5, column `title`: is empty; fill it in",
        ];
        for line in expected {
            assert!(faults.iter().any(|fault| fault == line), "{line}\nnot in\n{}", faults.join("\n"));
        }
        let columns = ["contains", "price", "on_hand", "hs_code", "origin"];
        for column in columns {
            let start = format!("catalogue.csv, line 3, column `{column}`");
            assert!(faults.iter().any(|fault| fault.starts_with(&start)), "{start}\nnot in\n{}", faults.join("\n"));
        }
    }

    #[test]
    fn an_alias_may_not_be_anothers_code_or_title() {
        let (_, faults) = read("A,Buoy,tern | Bell;B,pin,,,,,,,,,,,,,,,,\nB,Tern,Sea swallow,pin,,,,,,,,,,,,,,,,\n");
        assert_eq!(
            faults,
            [
                "catalogue.csv, line 2, column `aliases`: `tern` is the title of `B` too; remove it here, or from there",
                "catalogue.csv, line 2, column `aliases`: `B` is the code of `B` too; remove it here, or from there",
            ]
        );
    }

    #[test]
    fn aliases_and_headings_are_taken_apart() {
        let (catalogue, faults) = read("A,Buoy,Bell|Bell buoy; No. 4 ,pin,,,,,,,,,,,,,,,7117.19,\n");
        assert_eq!(faults, [] as [&str; 0]);
        let article = catalogue.iter().next().unwrap();
        assert_eq!(article.aliases, ["Bell", "Bell buoy", "No. 4"]);
        assert_eq!(article.hs_code.as_ref().map(HsCode::digits), Some("711719"));
    }

    /// Four digits are a heading, and no customs form takes one.
    #[test]
    fn a_heading_without_its_subheading_is_a_fault() {
        let (_, faults) = read("A,Buoy,,pin,,,,,,,,,,,,,,,7117,\n");
        assert_eq!(
            faults,
            [
                "catalogue.csv, line 2, column `hs_code`: `7117` is no subheading of the Harmonized System; write 6 to 12 \
                 digits, such as 711719"
            ]
        );
    }

    #[test]
    fn a_mailer_needs_its_sizes_and_tare() {
        let mut faults = Vec::new();
        let header = "code,title,inner_width_mm,inner_length_mm,max_thickness_mm,tare_g,cost,on_hand,reused\n";
        let mailers = mailers(
            &format!("{header}A,Small,110,160,25,9,0.21,,yes\nB,Mid,,230,40,12,,,maybe\n"),
            Currency::USD,
            &mut faults,
        );
        assert_eq!(mailers.len(), 1);
        assert!(mailers[0].reused);
        let faults: Vec<String> = faults.iter().map(Fault::to_string).collect();
        assert_eq!(
            faults,
            [
                "mailers.csv, line 3, column `inner_width_mm`: is empty; fill it in",
                "mailers.csv, line 3, column `reused`: `maybe` is none of the words that can stand here; write yes, no, \
                 true, false, 1, 0, TRUE or FALSE",
            ]
        );
    }
}
