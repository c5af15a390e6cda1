//! What a parcel abroad needs before it is packed, and the form that it gets.

use super::Packer;
use crate::model::customs::Declaration;
use crate::model::day::HoldReason;
use crate::model::mass::Estimate;
use crate::model::parcel::{For, Item, Postage};
use crate::model::subject::Subject;
use crate::plan::manifest::NoParcel;
use crate::plan::manifest::questions::Questions;
use crate::plan::{customs, postage};

impl Packer<'_> {
    /// Whether a parcel abroad can be declared; asked once for the whole group, before anything is packed.
    pub(super) fn declare(&self, questions: &mut Questions<'_>) -> Result<(), NoParcel> {
        if !self.goes_abroad() {
            return Ok(());
        }
        let Err(missing) = self.goods(self.items.iter().copied()) else { return Ok(()) };
        let text = missing.join("; ");
        // Whoever's own goods lack nothing has nothing to do with it.
        for clear in self.group() {
            if let Err(missing) = self.goods(clear.items.iter()) {
                let text = missing.join("; ");
                let subject = Subject::Customs { lacks: text.clone() };
                questions.ask(subject, clear.id().into(), format!("for customs: {text}"), Vec::new());
            }
        }
        Err(NoParcel { reason: HoldReason::Question, text: format!("goes abroad, and the declaration lacks: {text}") })
    }

    fn goes_abroad(&self) -> bool {
        let home = self.rules.country;
        self.group().iter().any(|clear| clear.recipient.country.is_some_and(|country| country != home))
    }

    /// What is declared of `items`, which are all of the group's or those of one of its parcels.
    fn goods<'i>(&self, items: impl Iterator<Item = &'i Item>) -> Result<customs::Goods, Vec<String>> {
        let contents: Vec<customs::Content<'_>> = items
            .filter_map(|item| {
                let deed = match item.for_ {
                    For::Order { .. } => customs::Deed::Sale,
                    For::Trade { .. } => customs::Deed::Trade,
                };
                let article = self.rules.catalogue.get(&item.code)?;
                Some(customs::Content { article, quantity: item.quantity, unit_value: item.unit_value, deed })
            })
            .collect();
        customs::goods(&contents, self.currency)
    }

    /// The declaration of a packed parcel, on the form that its value asks for; `None` within the seller's country.
    pub(super) fn declaration(&self, items: &[Item], mass: Estimate, postage: &Postage) -> Option<Declaration> {
        if !self.goes_abroad() {
            return None;
        }
        let goods = self.goods(items.iter()).ok()?;
        let (form, form_why) = customs::choose(&customs::Choice {
            value: goods.value,
            gross: postage::heaviest(mass, self.rules.packing.declare_with),
            sdr: self.rules.postage.sdr,
            day: self.today.hand_off,
            service: postage.customs_form,
        });
        Some(goods.on(form, form_why, mass, postage.price))
    }
}
