//! The main job against published tables and standards. Each check names its source; the tables lie in `data/`,
//! with their own sources at their heads.

mod abroad;
mod addresses;
mod calendar;
mod check_digits;
mod customs;
mod data;
mod identifiers;
mod likeness;
mod message;
mod on_top;
mod packing;
mod prices;
mod scale;
mod shapes;
mod weights;
