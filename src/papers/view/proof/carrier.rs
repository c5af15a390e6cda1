//! The carrier's side of a proof: postage, number, receipts and their pictures.

use crate::model::carrier::PictureFormat;
use crate::model::mass::{MassUnit, Weight};
use crate::model::money::Money;
use crate::model::parcel::{Bought, BoughtKind};
use crate::model::proof::Told;
use crate::plan::cover::Cover;
use crate::plan::tracking::{self, Kind};

use super::super::super::proof::Kept;
use super::super::super::words::{self, DateWords};
use super::{Fact, Maker, PictureView};

/// Pictures that are shown: more would make the file larger than mail takes.
const MOST_SHOWN: usize = 4;

/// `4 oz (113 g)`.
fn weight(weight: Weight) -> String {
    match weight.unit {
        MassUnit::Gram => weight.to_string(),
        MassUnit::Kilogram | MassUnit::Ounce | MassUnit::Pound => {
            format!("{weight} ({})", words::grams(weight.mass().as_f64()))
        }
    }
}

/// The day, or the cell as it stands where that says more.
fn day(day: Option<jiff::civil::Date>, written: Option<&String>) -> Option<String> {
    let day = DateWords::from(day?).medium;
    Some(written.map_or_else(|| day.clone(), |written| format!("{day}, written as {written}")))
}

impl Maker<'_> {
    pub(super) fn postage(&self) -> Vec<Fact> {
        let (planned, evidence) = (&self.parcel.postage, self.evidence);
        let zone = planned.zone.as_ref().map(|zone| format!(", zone {zone}")).unwrap_or_default();
        let plan = format!(
            "{}, {}{zone}, declared {}: {}",
            planned.carrier,
            planned.service_title,
            weight(planned.declared),
            self.desk.money(planned.price)
        );
        let mut facts = vec![Fact::known("Planned", plan)];
        facts.extend(self.on_top());
        for Told { file, row, by } in &evidence.postage {
            let parts = [
                day(row.bought_at, row.bought_at_as_written.as_ref()),
                row.service.clone(),
                row.mass.map(|mass| format!("for {}", weight(mass))),
                row.price.map(|price| self.desk.money(price)),
                row.tracking.as_ref().map(|number| format!("number {number}")),
            ];
            let parts: Vec<String> = parts.into_iter().flatten().collect();
            let source = format!("{}, {}", self.row(file, row.line), tied(by.as_deref()));
            facts.push(Fact::known("Bought", parts.join(", ")).from(source));
        }
        if evidence.postage.is_empty() {
            facts.push(Fact::unknown("Bought", "no row of postage bought recorded"));
        }
        if let Some(paid) = evidence.postage_paid {
            let sheet = evidence.sheets.iter().rfind(|told| told.row.postage_paid.is_some());
            let fact = Fact::known("Paid, by the sheet", self.desk.money(paid));
            facts.push(match sheet {
                Some(told) => fact.from(format!("hand-off sheet, {}", self.row(&told.file, told.row.line))),
                None => fact,
            });
        }
        facts.push(self.cover());
        facts.extend(self.tracking());
        facts
    }

    /// Surcharges and extras that the planned price holds.
    fn on_top(&self) -> Option<Fact> {
        let line = |bought: &Bought| match bought.what {
            BoughtKind::Surcharge => Some(format!("surcharge {} for {}", bought.code, self.desk.money(bought.price))),
            BoughtKind::Extra => Some(format!("{} for {}", bought.code, self.desk.money(bought.price))),
            // Told by itself, with the terms that decide.
            BoughtKind::Insurance => None,
        };
        let lines: Vec<String> = self.parcel.postage.bought.iter().filter_map(line).collect();
        (!lines.is_empty()).then(|| Fact::known("In that price", lines.join(", ")))
    }

    /// Insurance that was planned with the postage, for a price: whether it was bought, what was paid tells.
    fn planned_cover(&self) -> Option<(Money, Money)> {
        let insurance = self.parcel.postage.bought.iter().find(|bought| bought.what == BoughtKind::Insurance)?;
        Some((insurance.up_to?, insurance.price)).filter(|(_, price)| !price.amount.is_zero())
    }

    /// What was planned and bought of insurance, else what the rate card says of it. What would be paid is not for this program to say.
    fn cover(&self) -> Fact {
        let label = "Insurance bands";
        let terms = "What is covered, the carrier's own terms decide";
        let value = self.desk.money(self.parcel.value);
        let none = "none is recorded as bought";
        if let Some((up_to, price)) = self.planned_cover() {
            let (up_to, price) = (self.desk.money(up_to), self.desk.money(price));
            let planned = self.parcel.postage.price;
            let rows = self.evidence.postage.iter().filter_map(|told| told.row.price);
            let paid: Vec<Money> = rows.chain(self.evidence.postage_paid).collect();
            let bought = if paid.is_empty() {
                "what was paid is not recorded".to_owned()
            } else if paid.contains(&planned) {
                "that price was paid".to_owned()
            } else {
                "another price was paid, so the carrier's own record decides whether it was bought".to_owned()
            };
            let planned = self.desk.money(planned);
            return Fact::known(
                "Insurance",
                format!("up to {up_to} for {price}, in the planned price of {planned}; {bought}. {terms}."),
            );
        }
        match &self.proof.cover {
            Cover::NoCard => Fact::unknown(
                label,
                format!("the rate card of that day is no longer in the home, and {none}. {terms}."),
            ),
            Cover::NoBands => {
                Fact::known(label, format!("the rate card has none for this service, and {none}. {terms}."))
            }
            Cover::Above(last) => {
                let up_to = self.desk.money(*last);
                Fact::known(
                    label,
                    format!("the value, {value}, is above the rate card's last band, up to {up_to}; {none}. {terms}."),
                )
            }
            Cover::Band { up_to, price } => {
                let up_to = self.desk.money(*up_to);
                let text = if price.amount.is_zero() {
                    format!(
                        "the value, {value}, is in the rate card's band up to {up_to}, which comes with the postage. {terms}."
                    )
                } else {
                    let price = self.desk.money(*price);
                    format!(
                        "the value, {value}, is in the rate card's band up to {up_to} for {price} more; {none}. {terms}."
                    )
                };
                Fact::known(label, text)
            }
        }
    }

    fn tracking(&self) -> Vec<Fact> {
        let Some(given) = &self.evidence.tracking else {
            return vec![Fact::unknown("Tracking number", "none recorded")];
        };
        let found = tracking::identify(given);
        let kind = match found.kind {
            Some(Kind::UpuS10) => "an identifier by UPU S10",
            Some(Kind::UsPackage) => "a US package identifier",
            None => "of a kind whose check digit is not known",
        };
        let check = match (found.kind, found.valid, &found.fix) {
            (None, _, _) => String::new(),
            (Some(_), true, _) => "; its check digit holds".to_owned(),
            (Some(_), false, Some(fix)) => format!("; its check digit does not hold, and {fix} is one slip away"),
            (Some(_), false, None) => "; its check digit does not hold".to_owned(),
        };
        let sheet = self.evidence.sheets.iter().rfind(|told| told.row.tracking.is_some());
        let bought = self.evidence.postage.iter().find(|told| told.row.tracking.as_ref() == Some(&found.number));
        let fact = Fact::known("Tracking number", format!("{}, {kind}{check}", found.number));
        vec![match (sheet, bought) {
            (Some(told), _) => fact.from(format!("hand-off sheet, {}", self.row(&told.file, told.row.line))),
            (None, Some(told)) => fact.from(format!("postage bought, {}", self.row(&told.file, told.row.line))),
            (None, None) => fact,
        }]
    }

    pub(super) fn receipts(&self) -> Vec<Fact> {
        let row = |told: &Told<crate::model::carrier::Acceptance>| {
            let row = &told.row;
            let parts = [
                day(row.accepted_at, row.accepted_at_as_written.as_ref()),
                row.place.clone(),
                row.mass.map(|mass| format!("weighed {}", weight(mass))),
                row.price.map(|price| format!("paid {}", self.desk.money(price))),
                row.postal_code.as_ref().map(|code| format!("to {code}")),
                row.tracking.as_ref().map(|number| format!("number {number}")),
            ];
            let parts: Vec<String> = parts.into_iter().flatten().collect();
            let source = format!("{}, {}", self.row(&told.file, row.line), tied(told.by.as_deref()));
            Fact::known("Carrier's receipt", parts.join(", ")).from(source)
        };
        let mut facts: Vec<Fact> = self.evidence.receipts.iter().map(row).collect();
        if facts.is_empty() {
            facts.push(Fact::unknown("Carrier's receipt", "no receipt row recorded"));
        }
        if self.evidence.pictures.is_empty() {
            facts.push(Fact::unknown("Picture of a receipt", "none dropped"));
        }
        for (number, told) in (1..).zip(&self.evidence.pictures) {
            let by = match told.by.as_deref() {
                Some("day") => "for the whole hand-off of that day",
                Some(_) | None => "by its file's name",
            };
            facts.push(
                Fact::known("Picture of a receipt", format!("picture {number}, {by}")).from(self.file(&told.file)),
            );
        }
        facts
    }

    pub(super) fn pictures(&self) -> Vec<PictureView> {
        let view = |(number, told): (usize, &Told<crate::model::carrier::ReceiptPicture>)| {
            let (picture, file) = (&told.row, &told.file);
            let is_kept = matches!(self.proof.kept.get(&file.hash), Some(Kept::At(_)));
            let not_shown = if picture.format == PictureFormat::Pdf {
                let pages = words::count(picture.pages as usize, "page", "pages");
                Some(format!(
                    "It is a PDF of {pages}, which a document for the archive may not hold: send the file along, or print \
                     it. Its hash is in the list of files."
                ))
            } else if !is_kept {
                Some("Its file is no longer in the archive.".to_owned())
            } else if number > MOST_SHOWN {
                Some("It is left out to keep this file small: send it along.".to_owned())
            } else {
                None
            };
            let ending = match picture.format {
                PictureFormat::Png => "png",
                PictureFormat::Jpeg => "jpg",
                PictureFormat::Webp => "webp",
                PictureFormat::Pdf => "pdf",
            };
            PictureView {
                image: not_shown.is_none().then(|| format!("picture-{number}.{ending}")),
                caption: format!("Picture {number}: {}, {}", file.name, self.file(file)),
                alt: format!(
                    "Picture of the carrier's receipt, from the file {}; what is written on it was not read",
                    file.name
                ),
                not_shown,
                hash: file.hash.clone(),
            }
        };
        (1..).zip(&self.evidence.pictures).map(view).collect()
    }
}

/// What ties a row to the parcel.
fn tied(by: Option<&str>) -> &'static str {
    match by {
        Some("tracking") => "by its tracking number",
        Some("parcel") => "by the parcel's ref",
        Some("likeness") => "by day, postal code, weight and price",
        Some(_) | None => "not said how it was tied",
    }
}
