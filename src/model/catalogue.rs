//! What is known of each thing that can be sent.

use std::collections::BTreeMap;
use std::fmt;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::address::Country;
use super::customs::HsCode;
use super::length::Length;
use super::mass::Mass;
use super::money::Money;

/// An article's code, exactly as the catalogue writes it.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Code(pub String);

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// How an article is wrapped.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A loose pin: shares a roll.
    Pin,
    /// A pin on its backing card: a roll of its own.
    Carded,
    /// A sticker or print: lies flat against the wall of the mailer.
    Flat,
    /// Anything else: wrapped on its own.
    Other,
}

/// Contents that carriers ask about.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Contents {
    /// A button cell, as in pins that light up.
    ButtonCell,
    /// A magnet in place of a post.
    Magnet,
}

impl Contents {
    /// The word of `catalogue.csv` and of `cautions[].code`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::ButtonCell => "button-cell",
            Self::Magnet => "magnet",
        }
    }
}

/// One row of `catalogue.csv`. `None` means unknown, never zero.
#[derive(Clone, PartialEq, Debug)]
pub struct Article {
    /// The key.
    pub code: Code,
    /// Title as printed.
    pub title: String,
    /// Other codes and titles that mean this article.
    pub aliases: Vec<String>,
    /// How it is wrapped.
    pub kind: Kind,
    /// Width of the face (the pin, or the flat thing).
    pub width: Option<Length>,
    /// Height of the face.
    pub height: Option<Length>,
    /// Thickness with post and clutch.
    pub thickness: Option<Length>,
    /// Mass of one, with its clutch and its card.
    pub mass: Option<Mass>,
    /// Standard deviation of that mass: how well it is known.
    pub mass_sd: Option<Mass>,
    /// Places it takes on a roll; 1 unless it is large, three-dimensional, dangling or locking.
    pub roll_share: Decimal,
    /// Width and height of the backing card.
    pub card: Option<(Length, Length)>,
    /// Contents that need care.
    pub contains: Option<Contents>,
    /// Selling price.
    pub price: Option<Money>,
    /// What it cost.
    pub cost: Option<Money>,
    /// How many are in the drawer; `None` where the seller doesn't count.
    pub on_hand: Option<u32>,
    /// Shelf or drawer.
    pub place: String,
    /// What a customs form calls it.
    pub customs_description: Option<String>,
    /// Harmonized System subheading.
    pub hs_code: Option<HsCode>,
    /// Country of origin.
    pub origin: Option<Country>,
}

impl Article {
    /// The outside of what is wrapped: the card for a carded pin, else the face. `None` where a side is unknown.
    #[must_use]
    pub fn face(&self) -> Option<(Length, Length)> {
        match (self.kind, self.card) {
            (Kind::Carded, Some(card)) => Some(card),
            (Kind::Carded | Kind::Pin | Kind::Flat | Kind::Other, _) => self.width.zip(self.height),
        }
    }
}

/// Why an order line's words name no single article.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NoArticle {
    /// Nothing in the catalogue answers to the words.
    Unknown,
    /// Several articles do.
    Several(Vec<Code>),
}

/// All articles, by code, findable by alias and title.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Catalogue {
    articles: BTreeMap<Code, Article>,
    names: BTreeMap<String, Vec<Code>>,
}

impl Catalogue {
    /// Of checked rows with distinct codes.
    #[must_use]
    pub fn new(rows: impl IntoIterator<Item = Article>) -> Self {
        let articles: BTreeMap<Code, Article> =
            rows.into_iter().map(|article| (article.code.clone(), article)).collect();
        let mut names: BTreeMap<String, Vec<Code>> = BTreeMap::new();
        for article in articles.values() {
            for name in article.aliases.iter().chain(std::iter::once(&article.title)) {
                let codes = names.entry(Self::fold(name)).or_default();
                if !codes.contains(&article.code) {
                    codes.push(article.code.clone());
                }
            }
        }
        Self { articles, names }
    }

    /// What two ways of writing an alias or a title have in common: all but case and spacing.
    #[must_use]
    pub fn fold(name: &str) -> String {
        name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
    }

    /// The article with exactly this code.
    #[must_use]
    pub fn get(&self, code: &Code) -> Option<&Article> {
        self.articles.get(code)
    }

    /// In order of code.
    pub fn iter(&self) -> impl Iterator<Item = &Article> {
        self.articles.values()
    }

    /// The one article that an order line means: by exact code, else by code written as an alias, else by
    /// title, both without regard to case and spacing.
    ///
    /// # Errors
    /// [`NoArticle`] where none answers, or several do: it is never guessed.
    pub fn find(&self, code: Option<&str>, title: &str) -> Result<&Article, NoArticle> {
        if let Some(code) = code.filter(|code| !code.is_empty()) {
            // A code that is written and unknown isn't rescued by a title that fits: the two would disagree.
            return match self.articles.get(&Code(code.to_owned())) {
                Some(article) => Ok(article),
                None => self.by_name(code),
            };
        }
        match self.articles.get(&Code(title.to_owned())) {
            Some(article) => Ok(article),
            None => self.by_name(title),
        }
    }

    fn by_name(&self, name: &str) -> Result<&Article, NoArticle> {
        match self.names.get(&Self::fold(name)).map(Vec::as_slice) {
            Some([code]) => self.articles.get(code).ok_or(NoArticle::Unknown),
            Some(several @ [_, _, ..]) => Err(NoArticle::Several(several.to_vec())),
            Some([]) | None => Err(NoArticle::Unknown),
        }
    }
}
