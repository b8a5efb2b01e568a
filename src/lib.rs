//! Cupwright: a coffee roaster's drink standards, and any order turned into the exact build.

pub mod answering;
pub mod book;
pub mod cli;
pub mod config;
pub mod contract;
pub mod demo;
pub mod engine;
pub mod fit;
pub mod http;
pub mod in_force;
pub mod json;
pub mod keys;
pub mod label;
pub mod needs;
pub mod observe;
pub mod print;
pub mod rollout;
mod roots;
pub mod state;
pub mod tables;
pub mod till;
pub mod token;
pub mod units;
pub mod wire;
pub mod words;
