//! The main job against published tables and standards. Each check names its source; the tables lie in `data/`,
//! with their own sources at their heads.

mod addresses;
mod calendar;
mod customs;
mod data;
mod identifiers;
mod likeness;
mod message;
mod packing;
mod prices;
mod shapes;
mod weights;
