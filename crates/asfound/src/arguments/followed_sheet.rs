//! Which work sheet was followed.

use asfound_core::plan::SheetCode;
use clap::Args;

/// The work sheet by which something was carried out.
#[derive(Debug, Clone, Default, Args)]
pub struct FollowedSheet {
    /// The code on the work sheet that was followed; where the steps are others now, nothing is filed
    #[arg(long = "sheet", value_name = "CODE")]
    pub code: Option<SheetCode>,
}
