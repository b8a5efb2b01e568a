//! Who can reach an address.

use std::net::SocketAddr;

/// Whether somebody on another machine can reach a service that listens on `address`: whatever is
/// no loopback address (RFC 1122, section 3.2.1.3; RFC 4291, section 2.5.3), and so an unspecified
/// one too, which stands for all addresses of the machine.
///
/// ```
/// use cupwright::config::reachable_by_others;
///
/// assert!(!reachable_by_others("127.0.0.1:8080".parse().unwrap()));
/// assert!(reachable_by_others("0.0.0.0:8080".parse().unwrap()));
/// ```
pub fn reachable_by_others(address: SocketAddr) -> bool {
    // An IPv4 address inside an IPv6 one is that IPv4 address (RFC 4291, section 2.5.5.2).
    !address.ip().to_canonical().is_loopback()
}
