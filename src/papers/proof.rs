//! The proof of a parcel: one PDF with all the evidence that there is.
//!
//! Handed what the ledger holds and what became of the archived files; gives the PDF, the same for the same evidence.
//! Turned down: a letter that argues the claim, which is the seller's to write, and differs with every carrier.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::model::carrier::{Acceptance, PictureFormat, PostageBought, ReceiptPicture};
use crate::model::day::{DayPlan, QuestionId};
use crate::model::handoff::HandoffEntry;
use crate::model::language::Language;
use crate::model::parcel::{Parcel, ParcelState};
use crate::model::proof::{Answered, CameIn, Evidence, FileRef, Told};
use crate::model::scale::Sheet;
use crate::model::sending::SendingId;
use crate::model::trade::{Trade, TradeId};
use crate::plan::cover::Cover;

use super::phrases::Tongues;
use super::view::proof::{ProofView, view};
use super::{Look, PapersError, Templates, press, sample};

/// What became of a file in the archive.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Kept {
    /// It lies there with the bytes that were dropped, at this place in the home.
    At(String),
    /// No file with those bytes lies there any more.
    Gone,
}

/// All that a proof is made of.
#[derive(Clone, Debug)]
pub struct Proof<'a> {
    /// What the ledger holds.
    pub evidence: &'a Evidence,
    /// By hash, what became of each file.
    pub kept: BTreeMap<String, Kept>,
    /// The lines of trade confirmations, where their files are kept.
    pub letters: BTreeMap<TradeId, Vec<String>>,
    /// By hash, the bytes of pictures that are kept.
    pub pictures: BTreeMap<String, Vec<u8>>,
    /// What the rate card says of insurance for its value.
    pub cover: Cover,
    /// The day it is made.
    pub made_on: Date,
    /// Where days are reckoned.
    pub time_zone: TimeZone,
}

/// The PDF of a proof.
///
/// # Errors
/// Where a template of `look` is at fault.
pub fn proof(proof: &Proof<'_>, look: &Look<'_>) -> Result<Vec<u8>, PapersError> {
    let view = in_words(proof, look)?;
    let shown = view.pictures.iter().filter_map(|picture| Some((picture.image.clone()?, &picture.hash)));
    let files = shown.filter_map(|(name, hash)| Some((name, proof.pictures.get(hash)?.clone()))).collect();
    let view = serde_json::to_value(&view).map_err(PapersError::view)?;
    press::print_with("proof.typ", &view, &files, proof.made_on, look.templates)
}

/// A proof is in English, as the seller's own papers are.
fn in_words(proof: &Proof<'_>, look: &Look<'_>) -> Result<ProofView, PapersError> {
    let tongues = Tongues::of(look.templates)?;
    Ok(view(proof, look, &tongues.phrases(Language::En, None, look.seller.country)))
}

/// Renders the template with a parcel of which all is recorded, and with one of which nothing is.
pub(super) fn try_out(templates: &Templates) -> Result<(), PapersError> {
    let (seller, plan) = sample::day()?;
    let look = Look { seller: &seller, page: Sheet::A4, templates };
    for whole in [true, false] {
        let Some(evidence) = sample_of(&plan, whole) else { continue };
        proof(&tried(&evidence, whole), &look)?;
    }
    Ok(())
}

/// The proof that the template is tried with: its files are kept where all is recorded, and gone where nothing is.
fn tried(evidence: &Evidence, whole: bool) -> Proof<'_> {
    let letter = |(id, trade): &(TradeId, Trade)| {
        (*id, vec![format!("Trade with: {}", trade.with.name), format!("Agreed: {}", trade.agreed)])
    };
    let place = |file: &FileRef| if whole { Kept::At(format!("archive/{}", file.name)) } else { Kept::Gone };
    Proof {
        evidence,
        kept: evidence.files().into_iter().map(|file| (file.hash.clone(), place(file))).collect(),
        letters: evidence.parcel.trades.iter().filter(|_| whole).map(letter).collect(),
        pictures: evidence.pictures.iter().map(|told| (told.file.hash.clone(), DOT.to_vec())).collect(),
        cover: Cover::NoBands,
        made_on: evidence.listed_on,
        time_zone: TimeZone::UTC,
    }
}

/// A row of each table about a parcel.
fn rows_of(parcel: &Parcel, date: Date, number: Option<&String>) -> (HandoffEntry, PostageBought, Acceptance) {
    let sheet = HandoffEntry {
        line: 2,
        sheet: format!("handoff {date} r1"),
        parcel: parcel.r#ref.clone(),
        scale: Some(parcel.postage.declared),
        tracking: number.cloned(),
        postage_paid: Some(parcel.postage.price),
        handed_over_on: Some(date),
        place: Some("Eastmere counter".to_owned()),
        note: Some("counter was busy".to_owned()),
    };
    let bought = PostageBought {
        line: 2,
        tracking: number.cloned(),
        parcel: None,
        bought_at: Some(date),
        bought_at_as_written: None,
        price: Some(parcel.postage.price),
        service: Some(parcel.postage.service_title.clone()),
        mass: Some(parcel.postage.declared),
        name: None,
        postal_code: None,
    };
    let accepted = Acceptance {
        line: 2,
        tracking: number.cloned(),
        parcel: None,
        accepted_at: Some(date),
        accepted_at_as_written: Some(format!("{date} 16:05")),
        place: Some("Eastmere".to_owned()),
        price: Some(parcel.postage.price),
        mass: Some(parcel.postage.declared),
        postal_code: Some(parcel.recipient.postal_code.clone()),
    };
    (sheet, bought, accepted)
}

/// The evidence of the sample's parcel that has a trade.
fn sample_of(plan: &DayPlan, whole: bool) -> Option<Evidence> {
    let parcel = plan.parcels.iter().find(|parcel| !parcel.trades.is_empty())?.clone();
    let file = |name: &str| FileRef { name: name.to_owned(), taken_at: Timestamp::UNIX_EPOCH, hash: name.repeat(16) };
    let (day, number) = (Some(plan.date), Some("RB123456785GB".to_owned()));
    let (sheet, bought, accepted) = rows_of(&parcel, plan.date, number.as_ref());
    let picture = |format| ReceiptPicture {
        format,
        width: Some(1),
        height: Some(1),
        pages: 1,
        parcels: vec![parcel.r#ref.clone()],
        tracking: Vec::new(),
        day: None,
    };
    let ids = parcel.orders.iter().map(|order| SendingId::from(order.id.clone()));
    let ids: Vec<SendingId> = ids.chain(parcel.trades.iter().map(|(id, _)| (*id).into())).collect();
    let came = |id: &SendingId| CameIn { id: id.clone(), files: if whole { vec![file("came")] } else { Vec::new() } };
    let bare = Evidence {
        listed_on: plan.date,
        revision: plan.revision,
        other_days: Vec::new(),
        state: ParcelState::Listed,
        handed_over_on: None,
        handed_over_why: None,
        accepted_on: None,
        closed_on: None,
        tracking: None,
        postage_paid: None,
        scale: None,
        place: None,
        note: None,
        sheets: Vec::new(),
        postage: Vec::new(),
        receipts: Vec::new(),
        pictures: Vec::new(),
        came_in: ids.iter().map(came).collect(),
        answers: Vec::new(),
        holds: Vec::new(),
        changes: Vec::new(),
        their_halves: Vec::new(),
        parcel: parcel.clone(),
    };
    if !whole {
        return Some(bare);
    }
    let by = |by: &str| Some(by.to_owned());
    Some(Evidence {
        other_days: vec![plan.date],
        state: ParcelState::Accepted,
        handed_over_on: day,
        accepted_on: day,
        tracking: number,
        postage_paid: sheet.postage_paid,
        scale: sheet.scale,
        place: sheet.place.clone(),
        note: sheet.note.clone(),
        sheets: vec![Told { file: file("shee"), row: sheet, by: None }],
        postage: vec![Told { file: file("post"), row: bought, by: by("tracking") }],
        receipts: vec![Told { file: file("rece"), row: accepted, by: by("tracking") }],
        pictures: [PictureFormat::Png, PictureFormat::Pdf]
            .map(|format| Told { file: file(format.word()), row: picture(format), by: by("name") })
            .into(),
        answers: vec![Answered {
            id: QuestionId(3),
            text: "is it the same recipient?".to_owned(),
            answer: "together".to_owned(),
            at: Some(Timestamp::UNIX_EPOCH),
        }],
        changes: parcel.orders.iter().map(|order| (order.id.clone(), "quantity: 2, was 1".to_owned())).collect(),
        ..bare
    })
}

/// A PNG of one grey pixel.
const DOT: &[u8] = &[
    0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A, 0x00, 0x00, 0x00, 0x0D, 0x49, 0x48, 0x44, 0x52, 0x00, 0x00, 0x00,
    0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3A, 0x7E, 0x9B, 0x55, 0x00, 0x00, 0x00, 0x0A, 0x49,
    0x44, 0x41, 0x54, 0x78, 0xDA, 0x63, 0x68, 0x00, 0x00, 0x00, 0x82, 0x00, 0x81, 0xDA, 0x45, 0x08, 0x3B, 0x00, 0x00,
    0x00, 0x00, 0x49, 0x45, 0x4E, 0x44, 0xAE, 0x42, 0x60, 0x82,
];

#[cfg(test)]
mod tests {
    use super::*;

    fn has(pdf: &[u8], words: &str) -> bool {
        pdf.windows(words.len()).any(|bytes| bytes == words.as_bytes())
    }

    fn made(whole: bool, page: Sheet) -> (Vec<u8>, serde_json::Value) {
        let (seller, plan) = sample::day().unwrap();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page, templates: &templates };
        let evidence = sample_of(&plan, whole).unwrap();
        let tried = tried(&evidence, whole);
        (proof(&tried, &look).unwrap(), serde_json::to_value(in_words(&tried, &look).unwrap()).unwrap())
    }

    #[test]
    fn a_proof_claims_the_standards_holds_the_picture_and_has_the_same_bytes_each_time() {
        let (pdf, _) = made(true, Sheet::A4);
        assert!(has(&pdf, "pdfuaid") && has(&pdf, "pdfaid") && has(&pdf, "/Subtype/Image"));
        assert_eq!(pdf, made(true, Sheet::A4).0);
        assert_ne!(pdf, made(true, Sheet::Letter).0);
        assert!(!has(&made(false, Sheet::A4).0, "/Subtype/Image"));
    }

    #[test]
    fn what_was_never_recorded_is_said() {
        let (_, view) = made(false, Sheet::A4);
        let text = view.to_string();
        for said in [
            "no hand-off recorded",
            "no acceptance by the carrier recorded",
            "no scale reading recorded",
            "no row of postage bought recorded",
            "no receipt row recorded",
            "none dropped",
            "no note, answer, hold or change recorded",
            "the file it came in was not recorded",
        ] {
            assert!(text.contains(said), "no `{said}` in {text}");
        }
        let (_, view) = made(true, Sheet::A4);
        let life = view["life"].as_array().unwrap();
        let unknown: Vec<&str> =
            life.iter().filter(|fact| fact["known"] == false).filter_map(|fact| fact["label"].as_str()).collect();
        assert_eq!(unknown, ["Closed"]);
    }

    #[test]
    fn it_says_of_nothing_that_it_is_insured_or_authentic() {
        for whole in [true, false] {
            let text = made(whole, Sheet::A4).1.to_string().to_lowercase();
            assert!(!text.contains("insured") && !text.contains("authentic"), "{text}");
            assert!(text.contains("the carrier's own terms decide"), "{text}");
        }
    }

    #[test]
    fn a_pdf_is_named_with_its_reason_and_a_file_that_is_gone_is_said() {
        let (_, shown) = made(true, Sheet::A4);
        let pictures = shown["pictures"].as_array().unwrap();
        assert_eq!(
            (&pictures[0]["not_shown"], &pictures[1]["image"]),
            (&serde_json::Value::Null, &serde_json::Value::Null)
        );
        assert!(pictures[1]["not_shown"].as_str().is_some_and(|why| why.starts_with("It is a PDF of 1 page")));
        let (seller, plan) = sample::day().unwrap();
        let templates = Templates::built_in();
        let look = Look { seller: &seller, page: Sheet::A4, templates: &templates };
        let evidence = sample_of(&plan, true).unwrap();
        let mut tried = tried(&evidence, true);
        tried.kept.clear();
        let view = in_words(&tried, &look).unwrap();
        assert!(view.files.iter().all(|file| !file.sound && file.kept.contains("no file with these bytes")));
        assert!(view.pictures[0].image.is_none());
    }
}
