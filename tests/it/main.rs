//! Tests.
use cupwright::{demo, in_force::InForce};
#[test]
fn x() {
    match InForce::load(&demo::book(), &demo::sites()) {
        Ok(_) => {}
        Err(all) => { for one in all { println!("{one}"); } panic!() }
    }
}
