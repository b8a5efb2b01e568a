//! One test program: what the service promises, held from outside its crate.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::wildcard_enum_match_arm,
    reason = "a test that cannot go on should say so at once"
)]

mod allergen_sheet;
mod allergen_tables;
mod answers;
mod architecture;
mod book_ids;
mod book_rules;
mod changed;
mod claims;
mod cli;
mod coded;
mod collector;
mod config;
mod config_check;
mod config_values;
mod container;
mod contract;
mod documents;
mod drift;
mod explained;
mod figures;
mod fit;
mod gate;
mod golden;
mod identify;
mod keys;
mod law;
mod laws;
mod laws_of_change;
mod limits;
mod lines;
mod logs;
mod many;
mod menu;
mod metrics;
mod mutated;
mod needs;
mod needs_cli;
mod notes;
mod observed;
mod offers;
mod outside;
mod overrides;
mod page;
mod physics;
mod physics_milk;
mod pictures;
mod posted;
mod posting;
mod practice;
mod prints;
mod prints_cups;
mod prints_http;
mod prints_lost;
mod privacy;
mod raw;
mod reach;
mod reading;
mod reload;
mod resolution;
mod rollout;
mod server;
mod shots;
mod shots_told;
mod site_sheets;
mod standards;
mod starter;
mod steps;
mod sticker_forms;
mod stickers;
mod stock;
mod stopping;
mod storm;
mod support;
mod tables;
mod text;
mod till;
mod token;
mod traces;
mod trade;
mod watch;
