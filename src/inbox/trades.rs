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

mod block;

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::model::day::{Refused, Remark};
use crate::model::drop::{Content, Reading, RefusedRow, Rows};
use crate::model::text::one_line;
use crate::model::trade::Trade;

use super::ReadRules;
use super::decode::Text;
use super::quoted::{self, Line};
use super::trade_form::Key;
use block::{Fault, trade};

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

/// Confirmations that are read of one file: more than a year's of anybody's (common practice, no source).
pub(super) const MOST_TRADES: usize = 2_000;

/// Whether a text holds a trade confirmation.
pub(super) fn looks_like_one(text: &str) -> bool {
    text.split(['\n', '\r']).any(begins)
}

/// The line of a text that holds no confirmation but may have been meant to begin one.
pub(super) fn nearly_one(text: &str) -> Option<String> {
    let slip = |line: &&str| {
        let line = quoted_bare(line);
        Key::nearest(line).is_some_and(|near| near.0 == Key::TradeWith && near.1 >= SLIP)
            || Key::without_colon(line) == Some(Key::TradeWith)
    };
    text.split(['\n', '\r']).find(slip).map(|line| one_line(line).chars().take(60).collect())
}

/// Confirmations that a text begins.
pub(super) fn count(text: &str) -> usize {
    text.split(['\n', '\r']).filter(|line| begins(line)).count()
}

/// Lines of a confirmation that are shown: what follows is a signature, or older mail.
const MOST_LINES: usize = 40;

/// The lines of the confirmation with that partner, up to the next one, without blank lines at the end.
pub(super) fn lines_with(text: &str, partner: &str) -> Option<Vec<String>> {
    let is_theirs = |line: &&str| {
        let named = Key::of(quoted_bare(line)).filter(|(key, _)| *key == Key::TradeWith);
        named.is_some_and(|(_, name)| one_line(name).to_lowercase() == partner.to_lowercase())
    };
    let mut lines = text.lines().skip_while(|line| !is_theirs(line));
    let first = lines.next()?;
    let rest = lines.take_while(|line| !begins(line)).take(MOST_LINES - 1);
    let mut block: Vec<String> = std::iter::once(first).chain(rest).map(|line| line.trim_end().to_owned()).collect();
    while block.last().is_some_and(String::is_empty) {
        block.pop();
    }
    Some(block)
}

pub(super) fn read(file: &str, text: &Text<'_>, rules: &ReadRules<'_>) -> Reading {
    // Of a message that the file holds encoded, lines are counted in the text that a mail program shows.
    let shown = Text { text: Cow::Borrowed(&text.text), encoding: String::new(), lines: None };
    let hidden = text
        .lines
        .as_ref()
        .and_then(|lines| if let [line] = lines.as_slice() { Some(*line) } else { None })
        .filter(|_| text.text.contains('\n'));
    let lines = quoted::lines(if hidden.is_some() { &shown } else { text });
    let in_file = |line: u64| hidden.unwrap_or(line);
    let in_text = |line: u64| hidden.map_or_else(String::new, |_| format!(" (line {line} of the message's text)"));
    let at = |start: usize| lines.get(start);
    let starts: Vec<usize> =
        lines.iter().enumerate().filter(|(_, line)| begins(line.text)).map(|(index, _)| index).collect();
    let depth = starts.iter().filter_map(|start| at(*start)).map(|line| line.depth).min().unwrap_or(0);
    let first = starts.iter().copied().find(|start| at(*start).is_some_and(|line| line.depth == depth)).unwrap_or(0);
    let older = (first + 1..lines.len()).find(|index| quoted::begins_older_mail(&lines, *index));
    let end_of_text = older.unwrap_or(lines.len());
    let (newest, passed): (Vec<usize>, Vec<usize>) = starts
        .into_iter()
        .partition(|start| *start < end_of_text && at(*start).is_some_and(|line| line.depth == depth));
    let mut read = Vec::new();
    for (place, start) in newest.iter().enumerate() {
        let end = newest.get(place + 1).copied().unwrap_or(end_of_text);
        let block = lines.get(*start..end).unwrap_or_default();
        read.push((block, trade(block, depth, rules)));
    }
    let mut remarks: Vec<(u64, String)> = Vec::new();
    let mut remark = |line: Option<&Line<'_>>, what: &str| {
        remarks.extend(line.map(|line| (line.number, format!("`{}` {what}", one_line(line.text)))));
    };
    if depth > 0 {
        remark(at(first), "is taken from what the email quotes: what you drop counts as agreed");
    }
    for start in &passed {
        remark(at(*start), "is an older confirmation below the newest one, and passed over");
    }
    let twice = refuse_twins(&mut read);
    for line in &twice {
        remark(Some(line), "is the same trade once more, and taken once");
    }
    remarks.sort();
    let (mut trades, mut refused) = (Vec::new(), Vec::new());
    for (block, outcome) in read {
        match outcome {
            Ok(trade) => trades.push(trade),
            Err((line, value, reason)) => refused.push(RefusedRow {
                why: Refused {
                    file: file.to_owned(),
                    line: Some(in_file(line)),
                    column: None,
                    value: Some(value).filter(|value| !value.is_empty()),
                    reason: reason + &in_text(line),
                },
                // What a partner wrote into the quoted list stays in it, or the list would be taken without it.
                cells: block.iter().filter(|line| line.depth <= depth).map(|line| line.text.to_owned()).collect(),
            }),
        }
    }
    let greeting = lines.iter().take(first).any(|line| !line.text.trim().is_empty());
    let mut rows = Rows {
        taken: trades.len() as u64,
        refused: refused.len() as u64,
        skipped: u64::from(greeting) + (passed.len() + twice.len()) as u64,
        read: 0,
    };
    rows.read = rows.taken + rows.refused + rows.skipped;
    Reading {
        headers_again: Vec::new(),
        sheet_rows: BTreeMap::new(),
        content: Content::Trades(trades),
        source: None,
        encoding: text.encoding.clone(),
        delimiter: None,
        header_line: None,
        rows,
        remarks: remarks
            .into_iter()
            .map(|(line, text)| Remark {
                file: file.to_owned(),
                line: Some(in_file(line)),
                column: None,
                text: text + &in_text(line),
            })
            .collect(),
        matched: None,
        refused,
        headers: Vec::new(),
    }
}

/// Partner, day and number of the day are how a trade is known again: two different ones that share all three
/// would overwrite one another.
/// Gives the first lines of those that say the same again.
fn refuse_twins<'t>(read: &mut Vec<(&[Line<'t>], Result<Trade, Fault>)>) -> Vec<Line<'t>> {
    let mut seen: BTreeMap<(String, jiff::civil::Date, u32), usize> = BTreeMap::new();
    let (mut twins, mut same) = (Vec::new(), Vec::new());
    for (place, (_, outcome)) in read.iter().enumerate() {
        let Ok(trade) = outcome else { continue };
        let key = (trade.with.name.to_lowercase(), trade.agreed, trade.of_day);
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
                "is agreed with on the same day as on line {}; leave the one that holds, write both as one, or, if they \
                 are two, add `Trade of that day: 2` to one",
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
    let twice = same.iter().filter_map(|place| read.get(*place)?.0.first().copied()).collect();
    let mut place = 0;
    read.retain(|_| {
        place += 1;
        !same.contains(&(place - 1))
    });
    twice
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
            let reason = format!("is not a key of a trade confirmation; did you mean `{meant}:`?");
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
            ("Send by: 2026-11-27", "Agreed: 2026-11-27", 7, "is a second `Agreed:`"),
            ("Send by: 2026-11-27", "I send: 1 x GULL", 10, "is a second `I send:`"),
            ("I get:", "\nand in return\nI get:", 14, "stands in the middle"),
            ("I get:", "and in return\nI get:", 13, "is not an item"),
            ("2 x BELL", "two BELL", 11, "is not an item, whose number is written in figures"),
            ("2 x BELL", "2 BELL", 11, "is not an item: a sign belongs between"),
            ("Send by:", "Send by", 7, "begins like a key and has no colon behind it; write `Send by: …`"),
            ("Agreed: 2026-11-20\n", "Agreed:\n", 1, "has no `Agreed`; add a line `Agreed: …`"),
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
    fn all_keys_that_are_missing_are_named_together() {
        let reading = parse("Trade with: Ines\nNote: hi\n");
        let why = "has no `Address`, no `Agreed` and no `I send`; add a line for each, as `Address: …`";
        assert_eq!(refused(&reading), [(1, why)]);
    }

    #[test]
    fn values_may_slip_to_the_next_line_and_long_lines_may_be_broken() {
        let slipped = FORM.replace("Agreed: ", "Agreed:\n").replace("Trade with: ", "Trade with:\n  ");
        let broken = slipped.replace("\"Lightship No. 9", "\"Lightship\nNo. 9").replace("mint backs", "mint\nbacks");
        assert_eq!(trades(&parse(&broken)), trades(&parse(FORM)));
    }

    #[test]
    fn an_item_is_never_lost_for_want_of_an_indent_a_count_or_a_key() {
        for (from, to, line) in [
            ("I get:\n  1 x ", "I get:\n", 14),
            ("= 12.00\n", "= 12.00\nCape Fathom\n", 15),
            ("= 12.00\n", "= 12.00\n\nthat is\n\n1 x \"Tern\"\n", 16),
        ] {
            let reading = parse(&FORM.replace(from, to));
            let [(at, why)] = refused(&reading)[..] else { panic!("{to}: {reading:?}") };
            assert_eq!(at, line, "{to}: {why}");
        }
        let answered = quoted(FORM).replace("> I get:", "3 of them please\n> I get:");
        assert!(refused(&parse(&answered))[0].1.starts_with("stands in the middle"));
        // No key follows that would tell.
        let without_note = quoted(FORM.trim_end_matches("Note: mint backs please\n"));
        let list = without_note.replace(">   1 x \"Cape", "another?\n>   1 x \"Cape");
        assert!(refused(&parse(&list))[0].1.starts_with("stands in the middle"));
    }

    #[test]
    fn what_was_chosen_is_told() {
        let told = |text: &str| -> Vec<_> {
            parse(text).remarks.iter().map(|remark| (remark.line, remark.text.clone())).collect()
        };
        let newer = format!("{FORM}\nOn Friday you wrote:\n{}", quoted(FORM));
        let older = "`Trade with: Ines Okonjo` is an older confirmation below the newest one, and passed over";
        assert_eq!(told(&newer), [(Some(18), older.to_owned())]);
        let agreed = "`Trade with: Ines Okonjo` is taken from what the email quotes: what you drop counts as agreed";
        assert_eq!(told(&format!("Yes!\n{}", quoted(FORM))), [(Some(2), agreed.to_owned())]);
        let twice = parse(&format!("{FORM}\n{FORM}"));
        assert_eq!((twice.rows.read, twice.rows.skipped), (2, 1));
        assert_eq!(twice.remarks[0].line, Some(17));
        assert!(told(FORM).is_empty());
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
    fn in_a_message_that_is_encoded_lines_are_those_of_its_text() {
        let encoded = "VHJhZGUgd2l0aDogSW5lcwpBZ3JlZDogMjAyNi0xMS0yMAo=";
        let mail =
            mail(encoded).replace("Subject", "MIME-Version: 1.0\r\nContent-Transfer-Encoding: base64\r\nSubject");
        let why = "is not a key of a trade confirmation; did you mean `Agreed:`? (line 2 of the message's text)";
        assert_eq!(refused(&parse(&mail)), [(7, why)]);
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
        assert!(text.starts_with("# line 6: `Agred: 2026-11-20`: is not a key"), "{text}");
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
