//! How addresses are written, country by country: where the house number stands, and the short forms of streets.
//!
//! Handed a country's code; promises its habit, or the commonest one for a country it doesn't know. All of it is
//! common practice, no source. Turned down: learning habits from the orders, of which a seller has too few from most
//! countries.

use super::fold::Digraphs;
use super::languages::{
    BALTIC, CZECH, DUTCH, EAST_SLAVIC, FINNISH, FRENCH, GERMAN, GREEK, HUNGARIAN, ITALIAN, Language, POLISH,
    PORTUGUESE, ROMANIAN, SCANDINAVIAN, SOUTH_SLAVIC, SPANISH, TURKISH,
};

/// What a number with a stroke in it means.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Stroke {
    /// One number: "12/14".
    OneNumber,
    /// Unit before number: "4/88 Tern St".
    UnitFirst,
    /// Number before unit: "ul. Mewia 88/4".
    UnitLast,
    /// Unit before number, with a dash: "4-88 Tern St".
    UnitDash,
    /// House, staircase and flat: "5 A 12".
    Staircase,
    /// House, staircase, floor and door, of which two may be left out: "12/3/14".
    StairLast,
    /// Number before unit, with a dash: "Kaijas iela 12-5".
    DashLast,
    /// What stands behind the number belongs to it: "12-II", "12 hs".
    Addition,
    /// Block, house and number, and a room behind them: "1-2-3-501".
    RoomFourth,
}

/// Where the house number stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Number {
    /// Before the street.
    Ahead,
    /// Behind it.
    Behind,
    /// Behind it, and buildings and rooms may follow: the first number is the house's.
    First,
}

/// How a country writes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Habit {
    pub(super) languages: &'static [&'static Language],
    pub(super) number: Number,
    pub(super) stroke: Stroke,
    pub(super) digraphs: Digraphs,
    /// English suffixes and directionals, as in Publication 28.
    pub(super) english: bool,
    /// Whether a floor and a door make one unit: "3º B", "piso 3 puerta B".
    pub(super) floor_and_door: bool,
    /// Whether an apostrophe parts words: "l'Église".
    pub(super) elides: bool,
}

/// The habit of a country, by its code.
pub(super) fn of(country: &str) -> Habit {
    let habit = |languages: &'static [&'static Language], number: Number| Habit {
        languages,
        number,
        stroke: Stroke::OneNumber,
        digraphs: Digraphs::Letters,
        english: false,
        floor_and_door: false,
        elides: false,
    };
    let english = Habit { english: true, ..habit(&[], Number::Ahead) };
    let north = Habit { digraphs: Digraphs::Umlauts, ..habit(&[&SCANDINAVIAN], Number::Behind) };
    match country {
        "AU" | "NZ" => Habit { stroke: Stroke::UnitFirst, ..english },
        "CA" => Habit { languages: &[&FRENCH], stroke: Stroke::UnitDash, ..english },
        "DE" | "LI" => Habit { digraphs: Digraphs::Umlauts, ..habit(&[&GERMAN], Number::Behind) },
        "AT" => Habit { digraphs: Digraphs::Umlauts, stroke: Stroke::StairLast, ..habit(&[&GERMAN], Number::Behind) },
        "CH" => {
            Habit { elides: true, digraphs: Digraphs::Umlauts, ..habit(&[&GERMAN, &FRENCH, &ITALIAN], Number::Behind) }
        }
        "LU" => Habit { elides: true, digraphs: Digraphs::Umlauts, ..habit(&[&FRENCH, &GERMAN], Number::Ahead) },
        "BE" => Habit { elides: true, stroke: Stroke::UnitLast, ..habit(&[&FRENCH, &DUTCH], Number::Behind) },
        "NL" | "SR" | "AW" | "CW" | "SX" | "BQ" => {
            Habit { stroke: Stroke::Addition, ..habit(&[&DUTCH], Number::Behind) }
        }
        "DK" | "NO" | "SE" | "IS" | "FO" | "GL" | "AX" | "SJ" => north,
        "FI" => Habit { languages: &[&FINNISH], stroke: Stroke::Staircase, ..north },
        "FR" | "MC" | "GP" | "MQ" | "GF" | "RE" | "YT" | "PM" | "BL" | "MF" | "NC" | "PF" | "WF" | "MA" | "TN"
        | "DZ" | "SN" | "CI" => Habit { elides: true, ..habit(&[&FRENCH], Number::Ahead) },
        "ES" | "AD" | "AR" | "BO" | "CL" | "CO" | "CR" | "CU" | "DO" | "EC" | "GT" | "HN" | "MX" | "NI" | "PA"
        | "PE" | "PY" | "SV" | "UY" | "VE" => Habit { floor_and_door: true, ..habit(&[&SPANISH], Number::Behind) },
        "IT" | "SM" | "VA" => Habit { elides: true, ..habit(&[&ITALIAN], Number::Behind) },
        "PT" | "BR" | "AO" | "MZ" | "CV" => Habit { floor_and_door: true, ..habit(&[&PORTUGUESE], Number::Behind) },
        "PL" => Habit { stroke: Stroke::UnitLast, ..habit(&[&POLISH], Number::Behind) },
        "CZ" | "SK" => habit(&[&CZECH], Number::Behind),
        "SI" | "HR" | "RS" | "BA" | "ME" | "MK" => habit(&[&SOUTH_SLAVIC], Number::Behind),
        "RU" | "BY" | "KZ" | "KG" | "TJ" => {
            Habit { stroke: Stroke::DashLast, ..habit(&[&EAST_SLAVIC], Number::Behind) }
        }
        "UA" | "BG" => habit(&[&EAST_SLAVIC], Number::Behind),
        "HU" => habit(&[&HUNGARIAN], Number::Behind),
        "RO" | "MD" => habit(&[&ROMANIAN], Number::Behind),
        "TR" => Habit { stroke: Stroke::UnitLast, ..habit(&[&TURKISH], Number::Behind) },
        "GR" | "CY" => habit(&[&GREEK], Number::Behind),
        "EE" | "LV" | "LT" => Habit { stroke: Stroke::DashLast, ..habit(&[&BALTIC], Number::Behind) },
        "JP" => Habit { stroke: Stroke::RoomFourth, ..habit(&[], Number::First) },
        "CN" | "TW" | "KR" => habit(&[], Number::First),
        _ => english,
    }
}

/// Whether a word is a common ending of an English street that Publication 28 lacks or means otherwise.
pub(super) fn english_suffix(word: &str) -> Option<&'static str> {
    Some(match word {
        "CLOSE" | "CL" => "CL",
        "CRESCENT" | "CRES" | "CR" => "CRES",
        "PARADE" | "PDE" => "PDE",
        "TCE" => "TER",
        "ESPLANADE" | "ESP" => "ESP",
        "GARTH" => "GARTH",
        "RISE" => "RISE",
        "YARD" | "YD" => "YD",
        "WHARF" | "WHF" => "WHF",
        "GR" | "GVE" => "GRV",
        "CIRCUIT" | "CCT" => "CCT",
        "BVD" => "BLVD",
        _ => return None,
    })
}

/// A designator of units in the common languages, with whether it needs a value. English ones come from Publication
/// 28, but FLAT, which is a street there.
pub(super) fn designator(word: &str) -> super::units::Known {
    Some(match word {
        "FLAT" | "APPT" | "APP" | "APPARTEMENT" | "APARTAMENTO" | "APTO" | "APTE" | "WOHNUNG" | "WHG" | "DEPTO"
        | "DPTO" | "DEPARTAMENTO" | "LGH" | "LAGENHET" | "ASUNTO" | "AS" | "MIESZKANIE" | "MIESZK" | "M" | "LOK"
        | "LOKAL" | "BYT" | "BUS" | "BTE" | "BOITE" | "TOP" | "TUR" | "AP" | "INT" | "INTERNO" | "INTERIOR" | "KV"
        | "KVARTIRA" | "DAIRE" | "AJTO" | "DZ" | "DZIVOKLIS" | "BUTAS" | "KORTER" => ("APT", true),
        "PISO" | "PLANTA" | "ETAGE" | "STOCK" | "OG" | "PIANO" | "ANDAR" | "EM" | "EMELET" | "KAT" | "PATRO" | "ET"
        | "LEVEL" | "LVL" | "ETAZH" | "POVERKH" | "POVERH" | "OROFOS" => ("FL", true),
        "BAT" | "BATIMENT" | "EDIFICIO" | "EDIF" | "BLOK" | "BLOQUE" | "BLOCK" | "BLK" | "BLOCO" | "BL" | "HAUS"
        | "TORRE" | "KORP" | "KORPUS" | "KOR" => ("BLDG", true),
        "STROEN" => ("STROEN", true),
        "ESC" | "ESCALERA" | "ESCALIER" | "SCALA" | "STIEGE" | "STG" | "SC" | "STAIR" | "VH" | "VHOD" | "PODEZD" => {
            ("STAIR", true)
        }
        "LOTE" | "LT" => ("LOT", true),
        "QUADRA" | "QD" => ("QUADRA", true),
        "MANZANA" | "MZ" | "MZA" | "MZN" => ("MZ", true),
        "CASA" | "CS" => ("CASA", true),
        "SALA" => ("RM", true),
        "BUREAU" | "BUR" => ("STE", true),
        "RMB" => ("RMB", true),
        "RSD" => ("RSD", true),
        "PTA" | "PUERTA" | "PORTE" | "DOOR" => ("DOOR", true),
        "SHOP" => ("SHOP", true),
        "EG" | "ERDGESCHOSS" | "RDC" | "GROUND" => ("GROUND", false),
        _ => return super::us::designator(word).filter(|(_, needs_value)| *needs_value),
    })
}
