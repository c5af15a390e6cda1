//! The keys of a trade confirmation and what may stand behind them.
//!
//! Handed lines one by one; promises each read at once, so that what is wrong is told with its own line, and the
//! trade only when all that it needs is there. Turned down: leaving unknown lines out, by which a slip in `Send by`
//! would lose a deadline in silence.

mod item;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use unicode_normalization::UnicodeNormalization as _;

use crate::model::text::one_line;
use crate::model::trade::{First, LossFallsOn, Trade, TradeItem};

use super::{ReadRules, dates, place};
use item::items;
pub(super) use item::{has_open_quote, is_item};

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Key {
    TradeWith,
    Address,
    Email,
    Agreed,
    OfDay,
    SendBy,
    FirstToSend,
    LossFallsOn,
    OwnParcel,
    ISend,
    IGet,
    Note,
}

impl Key {
    pub(super) const ALL: [Self; 12] = [
        Self::TradeWith,
        Self::Address,
        Self::Email,
        Self::Agreed,
        Self::OfDay,
        Self::SendBy,
        Self::FirstToSend,
        Self::LossFallsOn,
        Self::OwnParcel,
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
            Self::OfDay => "Trade of that day",
            Self::SendBy => "Send by",
            Self::FirstToSend => "First to send",
            Self::LossFallsOn => "Loss falls on",
            Self::OwnParcel => "Own parcel",
            Self::ISend => "I send",
            Self::IGet => "I get",
            Self::Note => "Note",
        }
    }

    /// Whether its values are items.
    pub(super) const fn is_items(self) -> bool {
        matches!(self, Self::ISend | Self::IGet)
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

    /// The key that a line begins with, where no colon follows it: `Agreed 2026-11-20`.
    pub(super) fn without_colon(line: &str) -> Option<Self> {
        let text = one_line(line.trim_matches(is_mark)).to_lowercase();
        Self::ALL.into_iter().find(|key| {
            let rest = text.strip_prefix(&key.word().to_lowercase());
            rest.is_some_and(|rest| !rest.starts_with(char::is_alphanumeric) && !rest.starts_with([':', '：']))
        })
    }
}

/// Bullets of mail programs and of people (common practice, no source).
const BULLETS: &str = "-*•·‣–—◦▪●○■□►➢✓+";

/// What may stand round a key: bullets, marks of headings and of emphasis.
fn is_mark(c: char) -> bool {
    c.is_whitespace() || BULLETS.contains(c) || "#_>".contains(c)
}

/// A text without the number of a numbered list, `1.` or `2)`.
fn unnumbered(text: &str) -> &str {
    let rest = text.trim_start_matches(|c: char| c.is_ascii_digit());
    let inner = rest.strip_prefix(['.', ')']).filter(|inner| inner.starts_with(char::is_whitespace));
    inner.filter(|_| rest.len() < text.len()).map_or(text, str::trim_start)
}

/// Whether a line begins with a bullet: one sign and, but for the oldest two of them, a space. `--` is none.
pub(super) fn is_bulleted(line: &str) -> bool {
    let text = line.trim_start();
    let rest = text.strip_prefix(|c| BULLETS.contains(c));
    rest.is_some_and(|rest| !rest.starts_with(['-', '_', '=']) && !rest.trim().is_empty())
}

/// What stands before a line's colon, folded, and after it.
fn split(line: &str) -> Option<(String, &str)> {
    let (word, value) = line.split_once([':', '：', '﹕'])?;
    // Letters that only look otherwise (bold, full width) are folded: Unicode Standard Annex 15, form NFKC.
    let word: String = unnumbered(word.trim_matches(is_mark)).nfkc().collect();
    let emphasis = ['*', '_'];
    let value = value.trim_start_matches(emphasis).trim();
    // Emphasis that began before the key ends after the value.
    let value = if line.trim_start().starts_with(emphasis) { value.trim_end_matches(emphasis).trim() } else { value };
    Some((one_line(&word).to_lowercase(), value))
}

/// Trades that may be agreed with one partner on one day; a larger number is a slip. Common practice, no source.
const MOST_OF_DAY: u32 = 99;

#[derive(Default)]
pub(super) struct Form {
    said: Vec<Key>,
    with: String,
    address: Vec<String>,
    email: Option<String>,
    agreed: Option<Date>,
    of_day: Option<u32>,
    send_by: Option<Date>,
    first: Option<First>,
    loss: Option<LossFallsOn>,
    apart: Option<bool>,
    send: Vec<TradeItem>,
    get: Vec<TradeItem>,
    note: Vec<String>,
}

impl Form {
    /// A key was met: there is one of each.
    pub(super) fn meet(&mut self, key: Key) -> Result<(), String> {
        if self.said.contains(&key) {
            return Err(format!("is a second `{}:`; leave one of them", key.word()));
        }
        self.said.push(key);
        Ok(())
    }

    pub(super) fn take(&mut self, key: Key, value: &str, rules: &ReadRules<'_>) -> Result<(), String> {
        let day = |text: &str| dates::date_in_some_order(text, None, &TimeZone::UTC);
        let word = value.trim_end_matches('.').to_lowercase();
        match key {
            Key::TradeWith => self.with = one_line(value),
            Key::Address => {
                let bare = if is_bulleted(value) { value.trim_start_matches(|c| BULLETS.contains(c)) } else { value };
                self.address.extend(bare.split(" / ").map(one_line).filter(|line| !line.is_empty()));
            }
            Key::Email => self.email = Some(email(value)?),
            Key::Agreed => self.agreed = Some(day(value)?),
            Key::OfDay => {
                let number = word.parse().ok().filter(|number| (1..=MOST_OF_DAY).contains(number));
                self.of_day =
                    Some(number.ok_or("says which of that day's trades with the partner it is; write 1, 2 and so on")?);
            }
            Key::SendBy => self.send_by = Some(day(value)?),
            Key::FirstToSend => {
                self.first = Some(match word.as_str() {
                    "together" | "both" => First::Together,
                    "me" | "i" => First::Me,
                    "them" | "they" => First::Them,
                    _ => return Err("says who sends first; write together, me or them".to_owned()),
                });
            }
            Key::LossFallsOn => {
                self.loss = Some(match word.as_str() {
                    "sender" => LossFallsOn::Sender,
                    "receiver" => LossFallsOn::Receiver,
                    "unsaid" => LossFallsOn::Unsaid,
                    _ => return Err("says who bears a loss; write sender, receiver or unsaid".to_owned()),
                });
            }
            Key::OwnParcel => {
                self.apart = Some(match word.as_str() {
                    "yes" => true,
                    "no" => false,
                    _ => return Err("says whether it goes in a parcel of its own; write yes or no".to_owned()),
                });
            }
            Key::ISend => self.send.extend(items(value, rules)?),
            Key::IGet => self.get.extend(items(value, rules)?),
            Key::Note => self.note.push(one_line(value)),
        }
        Ok(())
    }

    /// Whether anything stands under a key.
    pub(super) fn has(&self, key: Key) -> bool {
        match key {
            Key::TradeWith => !self.with.is_empty(),
            Key::Address => !self.address.is_empty(),
            Key::Email => self.email.is_some(),
            Key::Agreed => self.agreed.is_some(),
            Key::OfDay => self.of_day.is_some(),
            Key::SendBy => self.send_by.is_some(),
            Key::FirstToSend => self.first.is_some(),
            Key::LossFallsOn => self.loss.is_some(),
            Key::OwnParcel => self.apart.is_some(),
            Key::ISend => !self.send.is_empty(),
            Key::IGet => !self.get.is_empty(),
            Key::Note => !self.note.is_empty(),
        }
    }

    /// Whether it could be the whole trade: what follows may be a signature.
    pub(super) fn is_complete(&self) -> bool {
        self.lacks().is_empty()
    }

    fn lacks(&self) -> Vec<Key> {
        [Key::TradeWith, Key::Address, Key::Agreed, Key::ISend].into_iter().filter(|key| !self.has(*key)).collect()
    }

    pub(super) fn finish(self, rules: &ReadRules<'_>) -> Result<Trade, String> {
        let lacks = |keys: &[Key]| {
            let named: Vec<String> = keys.iter().map(|key| format!("`{}`", key.word())).collect();
            let each = if keys.len() == 1 { "a line" } else { "a line for each" };
            let first = keys.first().map_or("", |key| key.word());
            match named.as_slice() {
                [all @ .., last] if !all.is_empty() => {
                    format!("has no {} and no {last}; add {each}, as `{first}: …`", all.join(", no "))
                }
                _ => format!("has no {}; add {each} `{first}: …`", named.concat()),
            }
        };
        let missing = self.lacks();
        if !missing.is_empty() {
            return Err(lacks(&missing));
        }
        Ok(Trade {
            agreed: self.agreed.ok_or_else(|| lacks(&[Key::Agreed]))?,
            of_day: self.of_day.unwrap_or(1),
            with: place::recipient(self.with, &self.address, self.email, rules.country),
            send_by: self.send_by,
            first: self.first.unwrap_or_default(),
            loss: self.loss.unwrap_or_default(),
            apart: self.apart.unwrap_or_default(),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_known_in_any_case_with_bullets_and_emphasis() {
        for line in [
            "Trade with: Ines",
            "  * TRADE   WITH : Ines",
            "**Trade with:** Ines",
            "- trade with： Ines",
            "## Trade with: Ines",
            "*Trade with: Ines*",
            "‣ __Trade with__: Ines",
            "1. Trade with: Ines",
            "Ｔｒａｄｅ　ｗｉｔｈ：Ines",
            "𝐓𝐫𝐚𝐝𝐞 𝐰𝐢𝐭𝐡: Ines",
            "Trade\u{A0}with\t:\tInes",
        ] {
            assert_eq!(Key::of(line), Some((Key::TradeWith, "Ines")), "{line}");
        }
        assert_eq!(Key::of("Traded with: Ines"), None);
        assert_eq!(Key::nearest("Traded with: Ines").map(|(key, _)| key), Some(Key::TradeWith));
    }

    #[test]
    fn a_key_without_its_colon_is_known_for_one() {
        assert_eq!(Key::without_colon("Agreed 2026-11-20"), Some(Key::Agreed));
        assert_eq!(Key::without_colon("- send by - 2026-11-20"), Some(Key::SendBy));
        for line in ["Agreed: soon", "Noted", "I sendal", "by then"] {
            assert_eq!(Key::without_colon(line), None, "{line}");
        }
    }

    #[test]
    fn a_bullet_is_a_sign_and_no_rule() {
        assert!(["- A", "• A", "‣ A", "–A", "  * A"].into_iter().all(is_bulleted));
        assert!(!["--", "-- ", "---", "A - B", "-", "-=-=-", ""].into_iter().any(is_bulleted));
    }

    #[test]
    fn an_email_address_may_stand_in_brackets() {
        assert_eq!(email("Ines <ines@example.net>").as_deref(), Ok("ines@example.net"));
        assert_eq!(email("ines@example.net<mailto:ines@example.net>").as_deref(), Ok("ines@example.net"));
        assert!(email("none").is_err());
    }
}
