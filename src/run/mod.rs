//! The only place where rooms meet. Each file is one thing the program does, as a short list of steps through the
//! rooms; what is to be decided is decided in `plan`, so there is nothing here to unit-test but the order.

mod check;
mod day;
mod demo;
mod desk;
mod list;
mod morning;
mod post;
mod proof;
mod quote;
mod quoted;
mod reading;
mod said;
mod say;
mod seam;
mod service;
mod take_in;
mod turn;
mod watch;

pub use check::{Checked, check};
pub use day::{Day, meant as day_meant};
pub use demo::demo;
pub use desk::{Desk, When};
pub use list::{Listed, Listing, MassRow, MassState, list};
pub use morning::{Morning, dry_run, morning};
pub use post::{Kept, Posted};
pub use proof::{Counted, Proved, ProvedFile, proof};
pub use quote::{QuoteAsk, quote};
pub use quoted::{Ahead, Asked, Bought, Number, Numbers, Quoted, Service, Tier};
pub use reading::FileRead;
pub use said::{Statement, said};
pub use say::{identify, read};
pub use take_in::{FileTaken, Files, TakeIn, take_in};
pub use watch::{Watch, watch};
