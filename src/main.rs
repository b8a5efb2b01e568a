//! The `cupwright` program.

fn main() {}
