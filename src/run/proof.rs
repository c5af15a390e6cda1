//! The proof of a parcel: the ledger's evidence, the archived files looked up and checked, one PDF in the outbox.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use anyhow::{Context, Result};
use jiff::civil::Date;
use serde::Serialize;

use crate::inbox::{self, folder};
use crate::ledger;
use crate::model::parcel::ParcelState;
use crate::model::proof::Evidence;
use crate::model::sending::SendingId;
use crate::model::trade::TradeId;
use crate::papers::{self, Kept, Look};
use crate::plan::cover;

use super::Desk;

/// What a proof was made of.
#[derive(Debug, Serialize)]
pub struct Proved {
    /// The parcel's ref.
    pub parcel: String,
    /// Day it was listed, which tells it from those of the same ref.
    pub listed: Date,
    /// Other days on which that ref was used.
    pub other_days: Vec<Date>,
    /// Where it stands.
    pub state: ParcelState,
    /// Where the PDF lies.
    pub file: PathBuf,
    /// BLAKE3 of the PDF.
    pub hash: String,
    /// Rows and pictures of each kind.
    pub evidence: Counted,
    /// The files it rests on.
    pub files: Vec<ProvedFile>,
}

/// How many of each kind of evidence there are.
#[derive(Debug, Serialize)]
pub struct Counted {
    /// Rows of hand-off sheets.
    pub sheets: usize,
    /// Rows of postage bought.
    pub postage: usize,
    /// Receipt rows.
    pub receipts: usize,
    /// Pictures of receipts.
    pub pictures: usize,
}

/// A file that a proof rests on.
#[derive(Debug, Serialize)]
pub struct ProvedFile {
    /// Its name as dropped.
    pub name: String,
    /// BLAKE3 of its bytes.
    pub hash: String,
    /// Where it lies in the home; `None` where no file with these bytes does any more.
    pub kept: Option<String>,
}

impl Proved {
    /// Whether a file that it rests on is gone or was changed.
    #[must_use]
    pub fn needs_seller(&self) -> bool {
        self.files.iter().any(|file| file.kept.is_none())
    }
}

/// Makes the proof of a parcel, `1125-01` or, of an earlier year, `2026:1125-01`.
///
/// # Errors
/// Where there is no such parcel, or a template or the outbox is at fault.
pub fn proof(desk: &Desk, parcel: &str) -> Result<Proved> {
    let evidence = desk.ledger.evidence(parcel)?;
    let mut bytes = BTreeMap::new();
    let mut kept = BTreeMap::new();
    for file in evidence.files() {
        let found = folder::find_archived(&desk.home.root, &file.name, |there| ledger::hash(there) == file.hash)
            .with_context(|| format!("`{}` can't be looked up in archive/", file.name))?;
        let place = found.map_or(Kept::Gone, |(place, there)| {
            bytes.insert(file.hash.clone(), there);
            Kept::At(place)
        });
        kept.insert(file.hash.clone(), place);
    }
    let letters = letters(desk, &evidence, &bytes);
    let planned = &evidence.parcel;
    let day = evidence.handed_over_on.unwrap_or(evidence.listed_on);
    let postage = &planned.postage;
    let made = papers::Proof {
        cover: cover::of(&desk.home.cards, &postage.carrier, &postage.service, day, planned.value),
        pictures: bytes
            .into_iter()
            .filter(|(hash, _)| evidence.pictures.iter().any(|told| told.file.hash == *hash))
            .collect(),
        evidence: &evidence,
        kept: kept.clone(),
        letters,
        made_on: desk.today(),
        time_zone: desk.home.day.time_zone.clone(),
    };
    let templates = desk.templates()?;
    let look = Look { seller: &desk.home.seller, page: desk.home.packing.sheet, templates: &templates };
    let pdf =
        papers::proof(&made, &look).with_context(|| format!("the proof of {} could not be made", planned.r#ref))?;
    let outbox = desk.home.root.join("outbox");
    let name = format!("proof-{}-{}.pdf", evidence.listed_on.year(), evidence.parcel.r#ref);
    fs::create_dir_all(&outbox)
        .and_then(|()| folder::write_whole(&outbox, &name, &pdf))
        .with_context(|| format!("`{}` can't be written; is the disk full?", outbox.join(&name).display()))?;
    let files = evidence.files().into_iter().map(|file| ProvedFile {
        name: file.name.clone(),
        hash: file.hash.clone(),
        kept: match kept.get(&file.hash) {
            Some(Kept::At(place)) => Some(place.clone()),
            Some(Kept::Gone) | None => None,
        },
    });
    Ok(Proved {
        parcel: planned.r#ref.0.clone(),
        listed: evidence.listed_on,
        other_days: evidence.other_days.clone(),
        state: evidence.state,
        file: outbox.join(name),
        hash: ledger::hash(&pdf),
        evidence: Counted {
            sheets: evidence.sheets.len(),
            postage: evidence.postage.len(),
            receipts: evidence.receipts.len(),
            pictures: evidence.pictures.len(),
        },
        files: files.collect(),
    })
}

/// The lines of the parcel's trade confirmations, from the latest file that is kept.
fn letters(desk: &Desk, evidence: &Evidence, bytes: &BTreeMap<String, Vec<u8>>) -> BTreeMap<TradeId, Vec<String>> {
    let mut letters = BTreeMap::new();
    for (id, trade) in &evidence.parcel.trades {
        let came = evidence.came_in.iter().filter(|came| came.id == SendingId::from(*id)).flat_map(|came| &came.files);
        for there in came.filter_map(|file| bytes.get(&file.hash)) {
            let confirmation = inbox::confirmation_with(there, &trade.with.name, desk.home.seller.country);
            letters.extend(confirmation.map(|lines| (*id, lines)));
        }
    }
    letters
}
