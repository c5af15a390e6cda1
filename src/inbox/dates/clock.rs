//! Times of day behind a date.
//!
//! Handed what follows the date; promises the time, and its distance from UTC where one is written, or nothing if it
//! isn't all a time. Turned down: passing over what isn't understood, which would drop a zone and with it a day.

use jiff::civil::Time;
use jiff::tz::Offset;

/// A Japanese date with its signs replaced: `2026年11月25日(水) 午後3時15分` as `2026-11-25 (水) 3:15 pm`.
pub(super) fn spelt_out(text: &str) -> String {
    let Some((year, rest)) = text.split_once('年') else { return text.to_owned() };
    let Some((month, rest)) = rest.split_once('月') else { return text.to_owned() };
    let Some((day, rest)) = rest.split_once('日') else { return text.to_owned() };
    let date = format!("{}-{}-{}", year.trim(), month.trim(), day.trim());
    let half = [("午前", "am"), ("午後", "pm")].into_iter().find(|(sign, _)| rest.contains(sign));
    let rest = half.map_or_else(|| rest.to_owned(), |(sign, _)| rest.replacen(sign, "", 1));
    let rest = match rest.split_once('時') {
        Some((hour, "")) => format!("{hour}:00"),
        Some((hour, minutes)) => {
            let minutes = minutes.replacen('分', ":", 1);
            format!("{hour}:{}", minutes.trim_end_matches('秒').trim_end_matches(':'))
        }
        None => rest,
    };
    format!("{date} {} {}", rest.trim(), half.map_or("", |(_, half)| half))
}

/// Words that go before a time in the languages of the exports; common practice, no source.
const BEFORE: [&str; 12] =
    ["at ", "um ", "à ", "a las ", "a la ", "alle ore ", "alle ", "ore ", "om ", "o godz.", "godz.", "o "];

/// Words that go behind it.
const BEHIND: [&str; 4] = ["uhr", "uur", "hrs", "h"];

/// `08:15`, `8:15:30.5 PM`, `8h15`, with or without an offset; nothing may follow.
pub(super) fn time_of_day(text: &str) -> Option<(Time, Option<Offset>)> {
    let text = text.trim().to_lowercase();
    let text = BEFORE.iter().find_map(|word| text.strip_prefix(word)).unwrap_or(&text);
    let hour_end = text.find(|c: char| !c.is_ascii_digit())?;
    let (hour, rest) = text.split_at_checked(hour_end)?;
    let hour = hour.parse::<i8>().ok()?;
    let rest = rest.trim_start_matches(|c: char| c == ' ' && rest.trim_start().starts_with('h'));
    let (mark, rest) = (rest.chars().next()?, rest.get(1..)?);
    let end = rest.find(|c: char| !c.is_ascii_digit() && c != ':' && c != '.').unwrap_or(rest.len());
    let (clock, rest) = rest.split_at_checked(end)?;
    // `8h` and, with a point, `8.15`: those alone, and a point never before a second's fraction.
    let mut parts = clock.trim_end_matches('.').split(':');
    let minute = match (mark, parts.next()?.trim()) {
        ('h', "") => 0,
        (':' | 'h' | '.', minute) => minute.parse::<i8>().ok().filter(|_| minute.len() == 2)?,
        _ => return None,
    };
    // A fraction of a second changes no day.
    let second = parts.next().map_or(Some(0), |second| second.split('.').next()?.parse::<i8>().ok())?;
    if parts.next().is_some() || (mark == '.' && clock.len() != 2) {
        return None;
    }
    let rest = rest.trim();
    let half = [("am", 0), ("a.m.", 0), ("pm", 12), ("p.m.", 12)];
    let half = half.iter().find_map(|(word, hours)| Some((rest.strip_prefix(word)?.trim(), *hours)));
    let (hour, rest) = match half {
        Some((rest, hours)) if (1..=12).contains(&hour) => (hour % 12 + hours, rest),
        Some(_) => return None,
        None => (hour, BEHIND.iter().find_map(|word| rest.strip_prefix(word)).unwrap_or(rest).trim()),
    };
    let time = Time::new(hour, minute, second.min(59), 0).ok()?;
    if rest.is_empty() { Some((time, None)) } else { Some((time, Some(offset(rest)?))) }
}

/// `z`, `utc`, `+01:00`, `-0500`, `utc+1`, and the names that RFC 5322, section 4.3, gives a meaning. Other names
/// mean different things in different places.
fn offset(text: &str) -> Option<Offset> {
    let named = [
        ("z", 0),
        ("ut", 0),
        ("utc", 0),
        ("gmt", 0),
        ("est", -5),
        ("edt", -4),
        ("cst", -6),
        ("cdt", -5),
        ("mst", -7),
        ("mdt", -6),
        ("pst", -8),
        ("pdt", -7),
    ];
    if let Some((_, hours)) = named.iter().find(|(name, _)| *name == text) {
        return Offset::from_hours(*hours).ok();
    }
    let text = ["utc", "gmt"].iter().find_map(|name| text.strip_prefix(name)).unwrap_or(text);
    let (sign, figures) = match (text.strip_prefix('+'), text.strip_prefix(['-', '\u{2212}'])) {
        (Some(rest), _) => (1, rest),
        (None, Some(rest)) => (-1, rest),
        (None, None) => return None,
    };
    let (hours, minutes) = match figures.split_once(':') {
        Some(parts) => parts,
        None => figures.split_at_checked(if figures.len() > 2 { figures.len() - 2 } else { figures.len() })?,
    };
    let minutes = if minutes.is_empty() { 0 } else { minutes.parse::<i32>().ok().filter(|m| (0..60).contains(m))? };
    Offset::from_seconds(sign * (hours.parse::<i32>().ok().filter(|h| (0..=14).contains(h))? * 60 + minutes) * 60).ok()
}
