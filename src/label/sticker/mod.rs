//! Stickers.
