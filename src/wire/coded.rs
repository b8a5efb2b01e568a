//! A build that is read by its token.

use serde::Serialize;
use utoipa::ToSchema;

use super::{BookStamp, BuildView, LineView, OverlayStamp, SiteStamp};

/// A build, read by its token.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CodedBuild<'a> {
    /// The token, in capital letters.
    #[schema(pattern = "^[A-Z2-7]+$", max_length = 512)]
    pub token: String,
    /// The book that the build was worked from; another may be in force by now.
    pub book: BookStamp,
    /// The recall overlay that it was worked from; null without one.
    pub overlay: Option<OverlayStamp>,
    /// The site.
    pub site: SiteStamp,
    /// The contract that this answer follows.
    pub contract: &'static str,
    /// Language of the texts: that of the token.
    pub lang: String,
    /// The line in normal form, with what had to be confirmed for it. Nothing else of a customer is
    /// in a token.
    pub canonical: LineView,
    /// The build of one cup.
    pub build: BuildView<'a>,
}
