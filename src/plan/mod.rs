//! Pure reckoning: model in, model out. No files, clock, SQL, network, randomness or logging.
//!
//! What the trade knows by heart lives here: which day is a working day, who is the same recipient, which pins
//! share a roll, which mailer closes over them, what it all weighs and costs. [`manifest`] puts it together into
//! the plan of a day; the other files answer one question each and don't know of it.

pub mod calendar;
pub mod cover;
pub mod customs;
pub mod identity;
pub mod likeness;
pub mod mailers;
pub mod manifest;
pub mod postage;
pub mod rolls;
pub mod snapshot;
pub mod standing;
pub mod supplies;
pub mod tracking;
pub mod weighing;
pub mod wishes;
pub mod wording;
