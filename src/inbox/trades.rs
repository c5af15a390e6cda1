//! Trade confirmations: a text form of keys and lists, generous in case, spacing and bullets.
//!
//! ```text
//! Trade with: Ines Okonjo
//! Address:
//!   88 Tern Street Apt 4
//!   Gullhaven, OR 97099
//! Agreed: 2026-11-20
//! I send:
//!   2 x BELL-BUOY
//! I get:
//!   1 x "Cape Fathom, night" = 12.00
//! ```
//!
//! Handed a text; promises that each confirmation in it is taken or refused with the line that is to blame and the
//! nearest key. A line that begins `Trade with:` begins one; several may follow one another. Of what was quoted in
//! replies, the newest counts. Turned down: a grammar that stops at the first greeting or signature, since people
//! write letters and not files.

use std::collections::BTreeMap;

use crate::model::day::Refused;
use crate::model::drop::{Content, Reading, RefusedRow, Rows};
use crate::model::text::one_line;
use crate::model::trade::Trade;

use super::ReadRules;
use super::decode::Text;
use super::quoted::{self, Line};
use super::trade_form::{Form, Key, is_item};

/// A word this like a key is a slip of it; one less like it is another word.
const SLIP: f64 = 0.88;

fn begins(line: &str) -> bool {
    Key::of(quoted_bare(line)).is_some_and(|(key, _)| key == Key::TradeWith)
}

fn quoted_bare(line: &str) -> &str {
    line.trim_start_matches(|c: char| c == '>' || c.is_whitespace())
}

/// Bytes that a letter may have, however long the thread; more would be neither written nor read by anybody.
pub(super) const LONGEST_LETTER: usize = 1 << 20;

/// Whether a text holds a trade confirmation.
pub(super) fn looks_like_one(text: &str) -> bool {
    text.split(['\n', '\r']).any(begins)
}

/// The line of a text that holds no confirmation but may have been meant to begin one.
pub(super) fn nearly_one(text: &str) -> Option<String> {
    let slip =
        |line: &&str| Key::nearest(quoted_bare(line)).is_some_and(|near| near.0 == Key::TradeWith && near.1 >= SLIP);
    text.split(['\n', '\r']).find(slip).map(|line| one_line(line).chars().take(60).collect())
}

pub(super) fn read(file: &str, text: &Text<'_>, rules: &ReadRules<'_>) -> Reading {
    let lines = quoted::lines(text);
    let starts: Vec<usize> =
        lines.iter().enumerate().filter(|(_, line)| begins(line.text)).map(|(index, _)| index).collect();
    let depth = starts.iter().filter_map(|start| lines.get(*start)).map(|line| line.depth).min().unwrap_or(0);
    let first = starts.iter().copied().find(|start| lines.get(*start).is_some_and(|line| line.depth == depth));
    let older = lines
        .iter()
        .enumerate()
        .position(|(index, line)| first.is_some_and(|first| index > first) && quoted::begins_older_mail(line.text));
    let end_of_text = older.unwrap_or(lines.len());
    let (newest, passed): (Vec<usize>, Vec<usize>) = starts
        .into_iter()
        .partition(|start| *start < end_of_text && lines.get(*start).is_some_and(|line| line.depth == depth));
    let mut read = Vec::new();
    for (place, start) in newest.iter().enumerate() {
        let end = newest.get(place + 1).copied().unwrap_or(end_of_text);
        let block = lines.get(*start..end).unwrap_or_default();
        read.push((block, trade(block, depth, rules)));
    }
    refuse_twins(&mut read);
    let (mut trades, mut refused) = (Vec::new(), Vec::new());
    for (block, outcome) in read {
        match outcome {
            Ok(trade) => trades.push(trade),
            Err((line, value, reason)) => refused.push(RefusedRow {
                why: Refused { file: file.to_owned(), line: Some(line), column: None, value: Some(value), reason },
                cells: block.iter().filter(|line| line.depth == depth).map(|line| line.text.to_owned()).collect(),
            }),
        }
    }
    let greeting = lines.iter().take(first.unwrap_or(0)).any(|line| !line.text.trim().is_empty());
    let mut rows = Rows {
        taken: trades.len() as u64,
        refused: refused.len() as u64,
        skipped: u64::from(greeting) + passed.len() as u64,
        read: 0,
    };
    rows.read = rows.taken + rows.refused + rows.skipped;
    Reading {
        content: Content::Trades(trades),
        source: None,
        encoding: text.encoding.clone(),
        delimiter: None,
        header_line: None,
        rows,
        remarks: Vec::new(),
        matched: None,
        refused,
        headers: Vec::new(),
    }
}

/// Line, what stands there, and what is wrong with it.
type Fault = (u64, String, String);

/// Partner and day are how a trade is known again: two different ones that share both would overwrite one another.
fn refuse_twins(read: &mut Vec<(&[Line<'_>], Result<Trade, Fault>)>) {
    let mut seen: BTreeMap<(String, jiff::civil::Date), usize> = BTreeMap::new();
    let (mut twins, mut same) = (Vec::new(), Vec::new());
    for (place, (_, outcome)) in read.iter().enumerate() {
        let Ok(trade) = outcome else { continue };
        let key = (trade.with.name.to_lowercase(), trade.agreed);
        match seen.get(&key).and_then(|first| Some((*first, read.get(*first)?.1.as_ref().ok()?))) {
            Some((_, other)) if other == trade => same.push(place),
            Some((first, _)) => twins.extend([(first, place), (place, first)]),
            None => drop(seen.insert(key, place)),
        }
    }
    let line_of = |place: usize| read.get(place).and_then(|(block, _)| block.first()).map_or(0, |line| line.number);
    let whys: Vec<(usize, Fault)> = twins
        .into_iter()
        .map(|(place, other)| {
            let name =
                read.get(place).and_then(|(_, outcome)| outcome.as_ref().ok()).map(|trade| trade.with.name.clone());
            let reason = format!(
                "is agreed with on the same day as on line {}; leave the one that holds, or write both as one",
                line_of(other)
            );
            (place, (line_of(place), name.unwrap_or_default(), reason))
        })
        .collect();
    for (place, fault) in whys {
        if let Some((_, outcome @ Ok(_))) = read.get_mut(place) {
            *outcome = Err(fault);
        }
    }
    let mut place = 0;
    read.retain(|_| {
        place += 1;
        !same.contains(&(place - 1))
    });
}

/// Reads one confirmation of the lines from its `Trade with:` on. Lines quoted more or less often than `depth`
/// aren't of it.
fn trade(block: &[Line<'_>], depth: usize, rules: &ReadRules<'_>) -> Result<Trade, Fault> {
    let mut form = Form::default();
    let mut key = Key::TradeWith;
    // The line with which other text began, and whether a blank line stands before this one.
    let (mut other, mut after_blank): (Option<&Line<'_>>, bool) = (None, false);
    for line in block {
        let trimmed = line.text.trim();
        let fault = |value: &str, reason: String| (line.number, one_line(value), reason);
        if trimmed.is_empty() {
            after_blank = true;
            continue;
        }
        let blank = std::mem::take(&mut after_blank);
        let known = Key::of(line.text).filter(|_| line.depth == depth);
        if let Some((found, value)) = known {
            if let Some(stray) = other {
                let reason = "stands in the middle of the confirmation; indent it, or move it above or below";
                return Err((stray.number, one_line(stray.text), reason.to_owned()));
            }
            key = found;
            form.meet(key).map_err(|reason| fault(trimmed, reason))?;
            if !value.is_empty() {
                form.take(key, value, rules).map_err(|reason| fault(value, reason))?;
            }
            continue;
        }
        // A note of this program, as in what it gives back to be mended.
        if trimmed.starts_with("# ") || other.is_some() {
            continue;
        }
        if line.depth != depth {
            other = Some(line);
            continue;
        }
        let near = Key::nearest(line.text).filter(|_| !is_item(trimmed));
        if let Some((slip, _)) = near.filter(|(_, likeness)| *likeness >= SLIP) {
            return Err(fault(trimmed, not_a_key(slip)));
        }
        let indented =
            line.text.starts_with([' ', '\t']) || trimmed.starts_with(['-', '*', '•', '·']) && trimmed != "--";
        let goes_on = match key {
            // An address goes on to the next blank line, indented or not.
            Key::Address => (indented || !blank || !form.has_address()) && near.is_none(),
            Key::ISend | Key::IGet => indented || is_item(trimmed),
            Key::Note => indented,
            Key::TradeWith | Key::Email | Key::Agreed | Key::SendBy | Key::FirstToSend | Key::LossFallsOn => false,
        };
        if goes_on && key.is_list() {
            form.take(key, trimmed, rules).map_err(|reason| fault(trimmed, reason))?;
        } else if form.is_complete() && (blank || near.is_none()) {
            other = Some(line);
        } else if let Some((nearest, _)) = near {
            return Err(fault(trimmed, not_a_key(nearest)));
        } else {
            let reason = "stands under no key; indent it under `Address:`, `I send:` or `I get:`";
            return Err(fault(trimmed, reason.to_owned()));
        }
    }
    let first = block.first().map_or((0, ""), |line| (line.number, line.text));
    form.finish(rules).map_err(|reason| (first.0, one_line(first.1), reason))
}

fn not_a_key(nearest: Key) -> String {
    format!("is not a key of a trade confirmation; did you mean `{}`?", nearest.word())
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::inbox::test_home::{self, refused, trades};
    use crate::inbox::{ReadError, refused_rows};
    use crate::model::trade::First;

    const FORM: &str = "Trade with: Ines Okonjo
Address:
  88 Tern Street Apt 4
  Gullhaven, OR 97099
Email: ines@example.net
Agreed: 2026-11-20
Send by: 2026-11-27
First to send: them
Loss falls on: sender
I send:
  2 x BELL-BUOY
  1 x \"Lightship No. 9\"
I get:
  1 x \"Cape Fathom, night\" = 12.00
Note: mint backs please
";

    fn parse(text: &str) -> Reading {
        test_home::read_with(text.as_bytes(), &[]).unwrap()
    }

    fn quoted(text: &str) -> String {
        text.lines().flat_map(|line| ["> ", line, "\n"]).collect()
    }

    fn mail(body: &str) -> String {
        format!(
            "From: Ines <ines@example.net>\r\nDate: Fri, 20 Nov 2026 10:00:00 +0000\r\nSubject: trade\r\n\r\n{}",
            body.replace('\n', "\r\n")
        )
    }

    #[test]
    fn the_form_is_read_whole() {
        let reading = parse(FORM);
        let [trade] = trades(&reading) else { panic!("{reading:?}") };
        assert_eq!(
            (trade.with.city.as_str(), trade.with.region.as_str(), trade.with.postal_code.as_str()),
            ("Gullhaven", "OR", "97099")
        );
        assert_eq!(trade.first, First::Them);
        assert_eq!(trade.send[1].what, "Lightship No. 9");
        assert_eq!(trade.get[0].value.map(|value| value.amount), Some(dec!(12.00)));
        assert_eq!(trade.note.as_deref(), Some("mint backs please"));
        assert_eq!(reading.rows, Rows { read: 1, taken: 1, refused: 0, skipped: 0 });
    }

    #[test]
    fn case_bullets_line_ends_indents_and_letters_round_it_do_not_matter() {
        let same = [
            format!(
                "Hello!\n\n{}\nBest,\nInes\nTel: 555 0100\n",
                FORM.replace("I send:", "  * i SEND :").replace("  2 x", "- 2 ×")
            ),
            FORM.replace('\n', "\r\n"),
            FORM.replace('\n', "\r"),
            FORM.replace("\n  ", "\n"),
            FORM.replace('\n', "\n\n"),
            FORM.replace("Agreed: 2026-11-20", "Agreed: 20 November 2026").replace("2026-11-27", "11/27/2026"),
            FORM.lines()
                .map(|line| line.split_once(':').map_or(line.to_owned(), |(k, v)| format!("**{k}:**{v}")) + "\n")
                .collect(),
            format!("\u{FEFF}{FORM}-- \nInes\n"),
        ];
        for text in same {
            assert_eq!(trades(&parse(&text)), trades(&parse(FORM)), "{text}");
        }
    }

    #[test]
    fn a_slip_in_a_key_is_named_with_its_line_wherever_it_stands() {
        for (from, to, line, meant) in [
            ("Agreed:", "Agred:", 6, "Agreed"),
            ("Send by:", "Sent by:", 7, "Send by"),
            ("Address:", "Adress:", 2, "Address"),
            ("I get:", "I got:", 13, "I get"),
            ("Email:", "E-Mail:", 5, "Email"),
            ("Note: mint", "Note: mint\n\nSend bye: 2026-12-01\n ", 17, "Send by"),
        ] {
            let reading = parse(&FORM.replace(from, to));
            let reason = format!("is not a key of a trade confirmation; did you mean `{meant}`?");
            assert_eq!(refused(&reading), [(line, reason.as_str())], "{to}");
        }
    }

    #[test]
    fn what_can_not_be_read_is_named_with_its_line() {
        for (from, to, line, reason) in [
            ("2 x BELL", "some BELL", 11, "is not an item"),
            ("= 12.00", "= twelve", 14, "has a value, `twelve`"),
            ("2026-11-20", "soon", 6, "is not a date"),
            ("2026-11-20", "03/04/2026", 6, "is 2026-04-03 or 2026-03-04"),
            (": them", ": nobody", 8, "says who sends first"),
            (": sender", ": the post", 9, "says who bears a loss"),
            ("Agreed: 2026-11-20\n", "", 1, "has no `Agreed`"),
            ("Send by: 2026-11-27", "Agreed: 2026-11-27", 7, "is a second `Agreed`"),
            ("I get:", "and in return\nI get:", 13, "stands in the middle"),
            ("Email: ines", "Colour: red\nEmail: ines", 5, "is not a key"),
            ("ines@example.net", "none", 5, "is not an email address"),
        ] {
            let reading = parse(&FORM.replace(from, to));
            let [(at, why)] = refused(&reading)[..] else { panic!("{to}: {reading:?}") };
            assert_eq!(at, line, "{to}: {why}");
            assert!(why.contains(reason), "{to}: {why}");
        }
    }

    #[test]
    fn two_trades_may_share_a_file_and_one_bad_one_spares_the_other() {
        let reading = parse(&format!("{FORM}\n{}", FORM.replace("2 x BELL-BUOY", "some BELL-BUOY")));
        assert_eq!((trades(&reading).len(), refused(&reading)[0].0), (1, 27));
        let two = parse(&format!("{FORM}\n{}", FORM.replace("Ines", "Bo")));
        assert_eq!(trades(&two).len(), 2);
    }

    #[test]
    fn two_different_trades_of_one_partner_and_day_are_both_refused_and_the_same_one_is_one() {
        let two = parse(&format!("{FORM}{}", FORM.replace("2 x", "3 x")));
        assert_eq!(refused(&two).iter().map(|(line, _)| *line).collect::<Vec<_>>(), [1, 16]);
        assert_eq!(trades(&parse(&format!("{FORM}\n{FORM}"))).len(), 1);
    }

    #[test]
    fn of_a_reply_the_newest_confirmation_counts() {
        let newer = FORM.replace("2 x BELL", "3 x BELL");
        let reply = mail(&format!("Hi!\n\n{newer}\nOn Friday you wrote:\n{}\n> Cheers\n", quoted(FORM)));
        assert_eq!(trades(&parse(&reply)), trades(&parse(&newer)));
        let copied = mail(&format!("{newer}\n-----Original Message-----\nFrom: me\n\n{FORM}"));
        assert_eq!(trades(&parse(&copied)), trades(&parse(&newer)));
        let agreed = mail(&format!("Agreed, thank you!\n\n{}\n", quoted(FORM)));
        assert_eq!(trades(&parse(&agreed)), trades(&parse(FORM)));
        let thread = mail(&format!("Yes!\n\n{}{}", quoted(&newer), quoted(&quoted(FORM))));
        assert_eq!(trades(&parse(&thread)), trades(&parse(&newer)));
        let forwarded = mail(&format!("See below\n\n---------- Forwarded message ---------\nFrom: Ines\n\n{FORM}"));
        assert_eq!(trades(&parse(&forwarded)), trades(&parse(FORM)));
    }

    #[test]
    fn a_saved_email_is_refused_at_the_line_of_the_file() {
        let body = FORM.replace("Agreed:", "Agred:").replace('=', "=3D");
        let mail = mail(&format!("Hello =\nthere\n\n{body}"))
            .replace("Subject", "MIME-Version: 1.0\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\nSubject");
        let line = mail.lines().position(|line| line.starts_with("Agred")).unwrap() as u64 + 1;
        assert_eq!(refused(&parse(&mail))[0].0, line);
    }

    #[test]
    fn an_email_or_text_without_one_is_refused_and_a_near_miss_is_named() {
        let why = |text: &str| match test_home::read_with(text.as_bytes(), &[]) {
            Err(ReadError::Unreadable(why)) => why.reason,
            other => panic!("{other:?}"),
        };
        assert!(why(&mail("Hello, how are you?\n")).starts_with("the saved email holds no trade confirmation"));
        assert!(why("a note to myself\nbuy wrap\n").starts_with("this text holds no trade confirmation"));
        assert!(
            why(&FORM.replace("Trade with", "Trade wiht").replace(',', ""))
                .contains("(`Trade wiht: Ines Okonjo` is not it)")
        );
    }

    #[test]
    fn an_orders_note_that_speaks_of_a_trade_is_a_note() {
        let reading = test_home::read("Ref,Name,Pin,Qty,Said\n1,A,X,1,\"hi\nTrade with: Bob?\"\n");
        assert_eq!(test_home::orders(&reading)[0].note.as_deref(), Some("hi Trade with: Bob?"));
    }

    #[test]
    fn what_was_refused_is_mended_and_read_again() {
        let reading = parse(&format!(
            "{}\n{}",
            FORM.replace("Agreed:", "Agred:"),
            FORM.replace("Ines", "Bo").replace("2 x", "some")
        ));
        let (ending, bytes) = refused_rows(&reading).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        assert_eq!(ending, "txt");
        assert!(text.starts_with("# line 6: `Agred: 2026-11-20` is not a key"), "{text}");
        let again = parse(&text.replace("\nAgred:", "\nAgreed:").replace("some BELL", "2 x BELL"));
        assert_eq!(trades(&again).len(), 2, "{again:?}");
    }

    proptest::proptest! {
        #[test]
        fn no_text_panics(text in "(Trade with: A\n)?([A-Za-z :>=\"x0-9é\n#-]{0,40}\n){0,12}") {
            if let Ok(reading) = test_home::read_with(format!("Trade with: B\n{text}").as_bytes(), &[]) {
                let rows = reading.rows;
                proptest::prop_assert_eq!(rows.read, rows.taken + rows.refused + rows.skipped);
            }
        }
    }
}
