//! What a car is asked for a reading, and what comes of the answers.

mod draw_up;
mod script;
mod survey;
mod vehicle_data;
mod whose;

pub use draw_up::{Refused, TakenReading, Unread, UnreadWhy, draw_up};
pub use script::{CodesWanted, Script, Wanted};
pub use survey::{Asked, Ended, ModuleAnswers, Survey, SurveyWatcher};
pub use vehicle_data::{VehicleData, vehicle_data};
pub use whose::{VinVerdict, judge_vin, known_vins, vins_told};
