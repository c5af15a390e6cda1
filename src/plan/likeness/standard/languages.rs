//! Words for streets, language by language.
//!
//! Handed nothing; promises the short forms that people write and what they stand for. All of it is common practice,
//! no source. Turned down: one list for all languages, since "R." is a rua, a rue or a road, and "PL" a place, a
//! plaza or a plac.

/// A language's words for streets.
#[derive(Debug)]
pub(super) struct Language {
    /// Short forms at the beginning of a street, of one word or two, and what they stand for; an empty meaning leaves
    /// the word out.
    pub(super) first: &'static [(&'static str, &'static str)],
    /// Endings of the last word, long and short: "STRASSE", "STR". The word before joins them.
    pub(super) last: &'static [(&'static str, &'static str)],
    /// Short forms anywhere.
    pub(super) anywhere: &'static [(&'static str, &'static str)],
}

pub(super) const GERMAN: Language = Language {
    first: &[],
    last: &[("STRASSE", "STR"), ("STR", "STR"), ("PLATZ", "PL"), ("GASSE", "G"), ("WEG", "WEG")],
    anywhere: &[("SANKT", "ST"), ("DOKTOR", "DR"), ("PROFESSOR", "PROF")],
};
pub(super) const DUTCH: Language = Language {
    first: &[],
    last: &[("STRAAT", "STR"), ("STR", "STR"), ("PLEIN", "PLN"), ("LAAN", "LN"), ("WEG", "WEG")],
    anywhere: &[("SINT", "ST"), ("BURGEMEESTER", "BURG"), ("DOCTOR", "DR"), ("PROFESSOR", "PROF")],
};
pub(super) const SCANDINAVIAN: Language = Language {
    first: &[],
    last: &[
        ("GATAN", "G"),
        ("VAGEN", "V"),
        ("GADE", "G"),
        ("GATE", "GT"),
        ("GATA", "GT"),
        ("VEJ", "VEJ"),
        ("VEIEN", "VN"),
        ("VEGEN", "VN"),
    ],
    anywhere: &[("SANKT", "ST"), ("SANKTA", "ST"), ("SKT", "ST")],
};
pub(super) const FINNISH: Language = Language {
    first: &[],
    last: &[("KATU", "K"), ("TIE", "T"), ("KUJA", "KJ"), ("GATAN", "G"), ("VAGEN", "V")],
    anywhere: &[],
};
pub(super) const FRENCH: Language = Language {
    first: &[
        ("R", "RUE"),
        ("AV", "AVENUE"),
        ("AVE", "AVENUE"),
        ("BD", "BOULEVARD"),
        ("BLD", "BOULEVARD"),
        ("BLVD", "BOULEVARD"),
        ("BOUL", "BOULEVARD"),
        ("PL", "PLACE"),
        ("CHE", "CHEMIN"),
        ("CHEM", "CHEMIN"),
        ("CH", "CHEMIN"),
        ("RTE", "ROUTE"),
        ("IMP", "IMPASSE"),
        ("ALL", "ALLEE"),
        ("SQ", "SQUARE"),
        ("CRS", "COURS"),
        ("FG", "FAUBOURG"),
        ("FBG", "FAUBOURG"),
        ("PASS", "PASSAGE"),
        ("RES", "RESIDENCE"),
        ("LOT", "LOTISSEMENT"),
        ("HAM", "HAMEAU"),
    ],
    last: &[],
    anywhere: &[
        ("SAINT", "ST"),
        ("SAINTE", "STE"),
        ("GENERAL", "GAL"),
        ("GEN", "GAL"),
        ("MARECHAL", "MAL"),
        ("DOCTEUR", "DR"),
        ("PROFESSEUR", "PR"),
        ("PRESIDENT", "PDT"),
    ],
};
pub(super) const SPANISH: Language = Language {
    first: &[
        ("C", "CALLE"),
        ("CL", "CALLE"),
        ("CLL", "CALLE"),
        ("AV", "AVENIDA"),
        ("AVD", "AVENIDA"),
        ("AVDA", "AVENIDA"),
        ("AVE", "AVENIDA"),
        ("PZA", "PLAZA"),
        ("PLZA", "PLAZA"),
        ("PZ", "PLAZA"),
        ("PL", "PLAZA"),
        ("PSO", "PASEO"),
        ("PS", "PASEO"),
        ("P", "PASEO"),
        ("CTRA", "CARRETERA"),
        ("CMNO", "CAMINO"),
        ("CNO", "CAMINO"),
        ("RDA", "RONDA"),
        ("TRAV", "TRAVESIA"),
        ("BLVD", "BULEVAR"),
        ("CRA", "CARRERA"),
        ("CR", "CARRERA"),
        ("KR", "CARRERA"),
        ("KRA", "CARRERA"),
        ("DG", "DIAGONAL"),
        ("TV", "TRANSVERSAL"),
    ],
    last: &[],
    anywhere: &[("SANTA", "STA"), ("SANTO", "STO"), ("DOCTOR", "DR"), ("GENERAL", "GRAL"), ("GEN", "GRAL")],
};
pub(super) const ITALIAN: Language = Language {
    first: &[
        ("V LE", "VIALE"),
        ("VLE", "VIALE"),
        ("V LO", "VICOLO"),
        ("VIC", "VICOLO"),
        ("V", "VIA"),
        ("P ZA", "PIAZZA"),
        ("P ZZA", "PIAZZA"),
        ("PZA", "PIAZZA"),
        ("PZZA", "PIAZZA"),
        ("P LE", "PIAZZALE"),
        ("PLE", "PIAZZALE"),
        ("C SO", "CORSO"),
        ("CSO", "CORSO"),
        ("L GO", "LARGO"),
        ("LGO", "LARGO"),
        ("STR", "STRADA"),
        ("LOC", "LOCALITA"),
        ("FRAZ", "FRAZIONE"),
        ("C DA", "CONTRADA"),
    ],
    last: &[],
    anywhere: &[("SANTA", "S"), ("SAN", "S"), ("SANTO", "S"), ("DOTTOR", "DR"), ("GENERALE", "GEN")],
};
pub(super) const PORTUGUESE: Language = Language {
    first: &[
        ("R", "RUA"),
        ("AV", "AVENIDA"),
        ("AVDA", "AVENIDA"),
        ("PCA", "PRACA"),
        ("PC", "PRACA"),
        ("PRC", "PRACA"),
        ("TV", "TRAVESSA"),
        ("TRAV", "TRAVESSA"),
        ("LG", "LARGO"),
        ("LGO", "LARGO"),
        ("ESTR", "ESTRADA"),
        ("EST", "ESTRADA"),
        ("AL", "ALAMEDA"),
        ("ROD", "RODOVIA"),
    ],
    last: &[],
    anywhere: &[
        ("SANTA", "STA"),
        ("SANTO", "STO"),
        ("SAO", "S"),
        ("DOUTOR", "DR"),
        ("ENGENHEIRO", "ENG"),
        ("GENERAL", "GEN"),
    ],
};
pub(super) const POLISH: Language = Language {
    first: &[
        ("UL", ""),
        ("ULICA", ""),
        ("AL", "ALEJA"),
        ("ALEJE", "ALEJA"),
        ("PL", "PLAC"),
        ("OS", "OSIEDLE"),
        ("SKW", "SKWER"),
    ],
    last: &[],
    anywhere: &[("SWIETEGO", "SW"), ("SWIETEJ", "SW"), ("GENERALA", "GEN"), ("KSIEDZA", "KS"), ("DOKTORA", "DR")],
};
pub(super) const CZECH: Language = Language {
    first: &[("UL", ""), ("ULICE", ""), ("ULICA", ""), ("NAM", "NAMESTI"), ("NAMESTIE", "NAMESTI"), ("TR", "TRIDA")],
    last: &[],
    anywhere: &[("NAM", "NAMESTI"), ("NAMESTIE", "NAMESTI")],
};
pub(super) const SOUTH_SLAVIC: Language = Language {
    first: &[("UL", ""), ("ULICA", ""), ("BUL", "BULEVAR")],
    last: &[],
    anywhere: &[("SVETOG", "SV"), ("SVETI", "SV")],
};
pub(super) const EAST_SLAVIC: Language = Language {
    first: &[
        ("УЛ", ""),
        ("УЛИЦА", ""),
        ("ВУЛ", ""),
        ("ВУЛИЦЯ", ""),
        ("UL", ""),
        ("ULITSA", ""),
        ("VUL", ""),
        ("VULYTSIA", ""),
        ("ПР Т", "ПРОСПЕКТ"),
        ("ПР КТ", "ПРОСПЕКТ"),
        ("Б Р", "БУЛЬВАР"),
        ("ПР", "ПРОСПЕКТ"),
        ("ПРОСП", "ПРОСПЕКТ"),
        ("ПЕР", "ПЕРЕУЛОК"),
        ("БУЛ", "БУЛЬВАР"),
        ("ПЛ", "ПЛОЩАДЬ"),
    ],
    last: &[],
    anywhere: &[],
};
pub(super) const HUNGARIAN: Language = Language {
    first: &[],
    last: &[],
    anywhere: &[("U", "UTCA"), ("KRT", "KORUT"), ("RKP", "RAKPART"), ("SGT", "SUGARUT")],
};
pub(super) const ROMANIAN: Language = Language {
    first: &[
        ("STR", "STRADA"),
        ("BD", "BULEVARDUL"),
        ("BDUL", "BULEVARDUL"),
        ("B DUL", "BULEVARDUL"),
        ("SOS", "SOSEAUA"),
        ("AL", "ALEEA"),
        ("CAL", "CALEA"),
    ],
    last: &[],
    anywhere: &[],
};
pub(super) const TURKISH: Language = Language {
    first: &[],
    last: &[],
    anywhere: &[
        ("CAD", "CADDESI"),
        ("CD", "CADDESI"),
        ("CADDE", "CADDESI"),
        ("SOK", "SOKAGI"),
        ("SK", "SOKAGI"),
        ("SOKAK", "SOKAGI"),
        ("MAH", "MAHALLESI"),
        ("MH", "MAHALLESI"),
        ("BLV", "BULVARI"),
        ("BULV", "BULVARI"),
    ],
};
pub(super) const GREEK: Language = Language {
    first: &[("ΟΔΟΣ", ""), ("ODOS", ""), ("Λ", "ΛΕΩΦΟΡΟΣ"), ("ΛΕΩΦ", "ΛΕΩΦΟΡΟΣ"), ("LEOF", "LEOFOROS")],
    last: &[],
    anywhere: &[],
};
