//! Marks of numbers in Japanese, Chinese and Korean addresses.
//!
//! Handed folded words; promises numbers and units in the order in which European lines have them: "1丁目2番3号" as
//! "1-2-3", "5栋501室" as building 5, flat 501. Common practice, no source. Turned down: telling prefecture, ward and
//! quarter apart, which comparing doesn't need.

use super::units::starts_with_digit;

/// Whether the country's addresses may be written in these scripts.
pub(super) fn writes(country: &str) -> bool {
    ["JP", "CN", "TW", "HK", "MO", "KR"].contains(&country)
}

/// Figures for the Chinese numerals before 丁目, as in "一丁目", up to 99.
pub(super) fn figures(text: &str) -> String {
    const BLOCK: &str = "丁目";
    let mut read = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((part, behind)) = rest.split_once(BLOCK) {
        rest = behind;
        let name = part.trim_end_matches(|c| numeral(c).is_some());
        let numerals = part.get(name.len()..).unwrap_or_default();
        read.push_str(name);
        read.push_str(&numbered(numerals).map_or_else(|| numerals.to_owned(), |number| number.to_string()));
        read.push_str(BLOCK);
        // "三丁目四番五号": behind a block the numerals are figures, before one they may be a place's name.
        while let Some(mark) = rest.find(|c| numeral(c).is_none()) {
            let (numerals, behind) = rest.split_at(mark);
            let Some(number) = numbered(numerals).filter(|_| behind.starts_with(['番', '号'])) else { break };
            let end = behind.chars().next().map_or(0, char::len_utf8);
            read.push_str(&number.to_string());
            read.push_str(behind.get(..end).unwrap_or_default());
            rest = behind.get(end..).unwrap_or_default();
        }
    }
    read + rest
}

fn numeral(c: char) -> Option<u32> {
    "〇一二三四五六七八九十".chars().zip(0..).find_map(|(known, value)| (known == c).then_some(value))
}

fn numbered(numerals: &str) -> Option<u32> {
    let unit = |text: &str, empty: u32| match text.chars().collect::<Vec<char>>().as_slice() {
        [] => Some(empty),
        [one] => numeral(*one).filter(|value| *value < 10),
        [_, ..] => None,
    };
    match numerals.split_once('十') {
        Some((tens, ones)) => Some(unit(tens, 1)? * 10 + unit(ones, 0)?),
        None => numerals.chars().next().and_then(|_| unit(numerals, 0)),
    }
}

/// The words with marks turned into hyphens and designators.
pub(super) fn readable(words: Vec<String>) -> Vec<String> {
    let mut read: Vec<String> = Vec::with_capacity(words.len());
    // A mark that joins the number before it to the next one.
    let mut joins = false;
    for word in words {
        if let Some((designator, number)) = ahead(&word) {
            read.extend([designator.to_owned(), number.to_owned()]);
            joins = false;
            continue;
        }
        let bare = word.trim_end_matches("-CHOME").trim_end_matches("-BANCHI").trim_end_matches("-GO").to_owned();
        let after_number = read.last().is_some_and(|last| starts_with_digit(last));
        match mark(&bare).filter(|_| after_number) {
            Some(Mark::Joins) => joins = true,
            Some(Mark::Nothing) => joins = false,
            Some(Mark::Unit(designator)) => {
                read.insert(read.len().saturating_sub(1), designator.to_owned());
                joins = false;
            }
            None => {
                let joins_next = bare.len() < word.len();
                match read.last_mut() {
                    Some(last) if joins && starts_with_digit(&bare) => {
                        last.push('-');
                        last.push_str(&bare);
                    }
                    Some(_) | None => read.push(bare),
                }
                joins = joins_next;
            }
        }
    }
    read
}

/// "101-DONG", "501-HO" and "3F" as designator and number.
fn ahead(word: &str) -> Option<(&'static str, &str)> {
    let marks = [("-DONG", "BLDG"), ("DONG", "BLDG"), ("-HO", "APT"), ("HO", "APT"), ("F", "FL")];
    marks.into_iter().find_map(|(mark, designator)| {
        let number = word.strip_suffix(mark)?;
        super::units::is_digits(number).then_some((designator, number))
    })
}

enum Mark {
    Joins,
    Nothing,
    Unit(&'static str),
}

fn mark(word: &str) -> Option<Mark> {
    Some(match word {
        "丁目" | "番" | "番地" | "の" | "CHOME" | "BAN" | "BANCHI" => Mark::Joins,
        "号" | "號" | "GO" | "HAO" => Mark::Nothing,
        "号室" | "室" | "호" => Mark::Unit("APT"),
        "楼" | "樓" | "层" | "層" | "階" | "층" => Mark::Unit("FL"),
        "栋" | "棟" | "座" | "동" => Mark::Unit("BLDG"),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_become_hyphens_and_designators() {
        let read = |text: &str| readable(text.split(' ').map(str::to_owned).collect()).join(" ");
        assert_eq!(read("町 1 丁目 2 番 3 号"), "町 1-2-3");
        assert_eq!(read("CHO 1-CHOME 2-3"), "CHO 1-2-3");
        assert_eq!(read("路 88 号 5 栋 501 室"), "路 88 BLDG 5 APT 501");
        assert_eq!(read("号 GO"), "号 GO");
        assert_eq!(read("RO 12 101-DONG 501HO"), "RO 12 BLDG 101 APT 501");
        assert_eq!(read("町 1-2-3 ビル 3F"), "町 1-2-3 ビル FL 3");
    }

    #[test]
    fn numerals_before_a_block_become_figures_and_no_others() {
        for (written, figured) in [
            ("町一丁目2番", "町1丁目2番"),
            ("三条町二十三丁目", "三条町23丁目"),
            ("町十丁目", "町10丁目"),
            ("一番町", "一番町"),
            ("丁目", "丁目"),
            ("町三丁目四番五号", "町3丁目4番5号"),
            ("町一二丁目", "町一二丁目"),
        ] {
            assert_eq!(figures(written), figured);
        }
    }
}
