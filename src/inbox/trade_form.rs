//! The keys of a trade confirmation and what may stand behind them.
//!
//! Handed lines one by one; promises each read at once, so that what is wrong is told with its own line, and the
//! trade only when all that it needs is there. Turned down: leaving unknown lines out, by which a slip in `Send by`
//! would lose a deadline in silence.

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::model::text::one_line;
use crate::model::trade::{First, LossFallsOn, Trade, TradeItem};

use super::{ReadRules, dates, numbers, place, values};

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Key {
    TradeWith,
    Address,
    Email,
    Agreed,
    SendBy,
    FirstToSend,
    LossFallsOn,
    ISend,
    IGet,
    Note,
}

impl Key {
    pub(super) const ALL: [Self; 10] = [
        Self::TradeWith,
        Self::Address,
        Self::Email,
        Self::Agreed,
        Self::SendBy,
        Self::FirstToSend,
        Self::LossFallsOn,
        Self::ISend,
        Self::IGet,
        Self::Note,
    ];

    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::TradeWith => "Trade with",
            Self::Address => "Address",
            Self::Email => "Email",
            Self::Agreed => "Agreed",
            Self::SendBy => "Send by",
            Self::FirstToSend => "First to send",
            Self::LossFallsOn => "Loss falls on",
            Self::ISend => "I send",
            Self::IGet => "I get",
            Self::Note => "Note",
        }
    }

    /// Whether its value may go on over several lines.
    pub(super) const fn is_list(self) -> bool {
        matches!(self, Self::Address | Self::ISend | Self::IGet | Self::Note)
    }

    /// `Key: value`, in any case, with bullets, marks of emphasis and any spacing.
    pub(super) fn of(line: &str) -> Option<(Self, &str)> {
        let (word, value) = split(line)?;
        let key = Self::ALL.into_iter().find(|key| key.word().to_lowercase() == word)?;
        Some((key, value))
    }

    /// The key nearest to the word before a line's colon, with their Jaro-Winkler likeness, 0 to 1.
    pub(super) fn nearest(line: &str) -> Option<(Self, f64)> {
        let (word, _) = split(line)?;
        let scored = Self::ALL.map(|key| (key, strsim::jaro_winkler(&key.word().to_lowercase(), &word)));
        scored.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// What stands before a line's colon, folded, and after it.
fn split(line: &str) -> Option<(String, &str)> {
    let (word, value) = line.split_once([':', '：'])?;
    let mark = |c: char| c.is_whitespace() || "*-•·#_".contains(c);
    let value = value.trim_start_matches(['*', '_']).trim();
    Some((one_line(word.trim_matches(mark)).to_lowercase(), value))
}

#[derive(Default)]
pub(super) struct Form {
    said: Vec<Key>,
    with: String,
    address: Vec<String>,
    email: Option<String>,
    agreed: Option<Date>,
    send_by: Option<Date>,
    first: First,
    loss: LossFallsOn,
    send: Vec<TradeItem>,
    get: Vec<TradeItem>,
    note: Vec<String>,
}

impl Form {
    /// A key was met; of those with one value there is one.
    pub(super) fn meet(&mut self, key: Key) -> Result<(), String> {
        if self.said.contains(&key) && !matches!(key, Key::ISend | Key::IGet | Key::Note) {
            return Err(format!("is a second `{}`; leave one of them", key.word()));
        }
        self.said.push(key);
        Ok(())
    }

    pub(super) fn take(&mut self, key: Key, value: &str, rules: &ReadRules<'_>) -> Result<(), String> {
        let day = |text: &str| dates::date_in_some_order(text, None, &TimeZone::UTC);
        let word = value.trim_end_matches('.').to_lowercase();
        match key {
            Key::TradeWith => self.with = one_line(value),
            Key::Address => self.address.extend(value.split(" / ").map(one_line).filter(|line| !line.is_empty())),
            Key::Email => self.email = Some(email(value)?),
            Key::Agreed => self.agreed = Some(day(value)?),
            Key::SendBy => self.send_by = Some(day(value)?),
            Key::FirstToSend => {
                self.first = match word.as_str() {
                    "together" | "both" => First::Together,
                    "me" | "i" => First::Me,
                    "them" | "they" => First::Them,
                    _ => return Err("says who sends first; write together, me or them".to_owned()),
                };
            }
            Key::LossFallsOn => {
                self.loss = match word.as_str() {
                    "sender" => LossFallsOn::Sender,
                    "receiver" => LossFallsOn::Receiver,
                    "unsaid" => LossFallsOn::Unsaid,
                    _ => return Err("says who bears a loss; write sender, receiver or unsaid".to_owned()),
                };
            }
            Key::ISend => self.send.extend(items(value, rules)?),
            Key::IGet => self.get.extend(items(value, rules)?),
            Key::Note => self.note.push(one_line(value)),
        }
        Ok(())
    }

    pub(super) fn has_address(&self) -> bool {
        !self.address.is_empty()
    }

    /// Whether it could be the whole trade: what follows may be a signature.
    pub(super) fn is_complete(&self) -> bool {
        self.lacks().is_none()
    }

    fn lacks(&self) -> Option<Key> {
        [
            (self.with.is_empty(), Key::TradeWith),
            (self.address.is_empty(), Key::Address),
            (self.agreed.is_none(), Key::Agreed),
            (self.send.is_empty(), Key::ISend),
        ]
        .into_iter()
        .find_map(|(lacks, key)| lacks.then_some(key))
    }

    pub(super) fn finish(self, rules: &ReadRules<'_>) -> Result<Trade, String> {
        let lacks = |key: Key| format!("has no `{0}`; add a line `{0}: …`", key.word());
        if let Some(key) = self.lacks() {
            return Err(lacks(key));
        }
        Ok(Trade {
            agreed: self.agreed.ok_or_else(|| lacks(Key::Agreed))?,
            with: place::recipient(self.with, &self.address, self.email, rules.country),
            send_by: self.send_by,
            first: self.first,
            loss: self.loss,
            send: self.send,
            get: self.get,
            note: Some(self.note.join(" ")).filter(|note| !note.is_empty()),
        })
    }
}

/// `ines@example.net`, bare or as mail programs write it.
fn email(value: &str) -> Result<String, String> {
    let value = one_line(value);
    let bare = value.rsplit_once('<').map_or(value.as_str(), |(_, rest)| rest.trim_end_matches('>'));
    let bare = bare.strip_prefix("mailto:").unwrap_or(bare);
    let fits = bare.split_once('@').is_some_and(|(name, host)| !name.is_empty() && host.contains('.'));
    if fits && !bare.contains(char::is_whitespace) {
        Ok(bare.to_owned())
    } else {
        Err("is not an email address; write it as name@example.net, or leave the line out".to_owned())
    }
}

/// Items of one line: `2 x A; 1 x B` are two.
fn items(text: &str, rules: &ReadRules<'_>) -> Result<Vec<TradeItem>, String> {
    let mut parts = Vec::new();
    let (mut start, mut quoted) = (0, false);
    for (place, c) in text.char_indices() {
        quoted = match c {
            '"' => !quoted,
            '“' | '„' => true,
            '”' => false,
            _ => quoted,
        };
        let rest = text.get(place + c.len_utf8()..).unwrap_or_default();
        if !quoted && matches!(c, ';' | ',') && counted(rest).is_some() {
            parts.extend(text.get(start..place));
            start = place + c.len_utf8();
        }
    }
    parts.extend(text.get(start..));
    parts.into_iter().map(|part| item(part, rules)).collect()
}

/// Whether a line begins with a count, as an item does.
pub(super) fn is_item(text: &str) -> bool {
    counted(text).is_some()
}

/// The count at the beginning of an item, and the rest: `2 x`, `2×`, `2x`, with or without a bullet. The letter must
/// stand apart from what follows, or `2 xylophone` would be two ylophones.
fn counted(text: &str) -> Option<(u32, &str)> {
    let text = text.trim_start_matches(|c: char| c.is_whitespace() || "-*•·".contains(c));
    let end = text.find(|c: char| !c.is_ascii_digit())?;
    let (digits, rest) = text.split_at_checked(end)?;
    let rest = rest.trim_start();
    let rest = match rest.strip_prefix(['x', 'X']) {
        Some(rest) => Some(rest).filter(|rest| rest.starts_with(|c: char| c.is_whitespace() || "\"“„".contains(c))),
        None => rest.strip_prefix(['×', '*']),
    }?;
    Some((values::quantity(digits).ok()?, rest.trim()))
}

/// `2 x BELL-BUOY`, `1 × "Lightship No. 9" = 12.00`.
fn item(text: &str, rules: &ReadRules<'_>) -> Result<TradeItem, String> {
    let wrong =
        || "is not an item; write it as `2 x CODE` or `1 x \"Title\"`, with ` = 12.00` for its value".to_owned();
    let (quantity, rest) = counted(text).ok_or_else(wrong)?;
    let (what, value) = if let Some(quoted) = rest.strip_prefix(['"', '“', '„']) {
        let (what, after) = quoted.split_once(['"', '”', '“']).ok_or_else(wrong)?;
        let after = after.trim();
        let value = if after.is_empty() { None } else { Some(after.strip_prefix('=').ok_or_else(wrong)?) };
        (what, value)
    } else {
        rest.split_once('=').map_or((rest, None), |(what, value)| (what, Some(value)))
    };
    let what = one_line(what);
    if what.is_empty() {
        return Err(wrong());
    }
    let value = value.map(|value| {
        let value = one_line(value);
        numbers::money_in_some_style(&value, rules.currency)
            .map_err(|why| format!("has a value, `{value}`, that {why}"))
    });
    Ok(TradeItem { quantity, what, value: value.transpose()? })
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::model::money::Currency;

    fn read(text: &str) -> Result<Vec<(u32, String, Option<rust_decimal::Decimal>)>, String> {
        let zone = TimeZone::UTC;
        let rules = ReadRules {
            maps: &[],
            time_zone: &zone,
            currency: Currency::USD,
            country: "US".parse().unwrap(),
            dates: &crate::inbox::test_home::NO_DATES,
        };
        let items = items(text, &rules)?;
        Ok(items.into_iter().map(|item| (item.quantity, item.what, item.value.map(|value| value.amount))).collect())
    }

    #[test]
    fn items_are_read_as_people_write_them() {
        let one = |text, quantity, what: &str, value| {
            assert_eq!(read(text), Ok(vec![(quantity, what.to_owned(), value)]), "{text}");
        };
        one("2 x BELL-BUOY", 2, "BELL-BUOY", None);
        one(" - 2X BELL-BUOY", 2, "BELL-BUOY", None);
        one("• 2×BELL-BUOY", 2, "BELL-BUOY", None);
        one("1 x\"Cape Fathom, night\"=12.00", 1, "Cape Fathom, night", Some(dec!(12.00)));
        one("1 x “Lightship No. 9” = $12", 1, "Lightship No. 9", Some(dec!(12)));
        one("1 x Cape Fathom, night = 12,50", 1, "Cape Fathom, night", Some(dec!(12.50)));
        one("1 x xylophone", 1, "xylophone", None);
    }

    #[test]
    fn several_items_may_share_a_line() {
        let two = read("2 x BELL-BUOY, 1 x \"Gull, 3 x red\"; 1 x TERN = 9.00").unwrap();
        assert_eq!(two.iter().map(|item| item.1.as_str()).collect::<Vec<_>>(), ["BELL-BUOY", "Gull, 3 x red", "TERN"]);
    }

    #[test]
    fn what_is_no_item_is_refused_whole() {
        for text in [
            "some BELL-BUOY",
            "2 xylophone",
            "BELL-BUOY",
            "0 x BELL-BUOY",
            "1 x",
            "1 x \"Lightship",
            "1 x \"Lightship\" (mint)",
            "1 x A = twelve",
            "1 x A = 1,200",
            "1 x A = £12",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
    }

    #[test]
    fn keys_are_known_in_any_case_with_bullets_and_emphasis() {
        for line in [
            "Trade with: Ines",
            "  * TRADE   WITH : Ines",
            "**Trade with:** Ines",
            "- trade with： Ines",
            "## Trade with: Ines",
        ] {
            assert_eq!(Key::of(line), Some((Key::TradeWith, "Ines")), "{line}");
        }
        assert_eq!(Key::of("Traded with: Ines"), None);
        assert_eq!(Key::nearest("Traded with: Ines").map(|(key, _)| key), Some(Key::TradeWith));
    }

    #[test]
    fn an_email_address_may_stand_in_brackets() {
        assert_eq!(email("Ines <ines@example.net>").as_deref(), Ok("ines@example.net"));
        assert_eq!(email("ines@example.net<mailto:ines@example.net>").as_deref(), Ok("ines@example.net"));
        assert!(email("none").is_err());
    }
}
