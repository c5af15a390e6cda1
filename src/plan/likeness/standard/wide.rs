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

/// The words with marks turned into hyphens and designators.
pub(super) fn readable(words: Vec<String>) -> Vec<String> {
    let mut read: Vec<String> = Vec::with_capacity(words.len());
    // A mark that joins the number before it to the next one.
    let mut joins = false;
    for word in words {
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
    }
}
