//! The client's address, which only trusted proxies may name.

use std::net::IpAddr;

use actix_web::http::header::HeaderMap;
use ipnet::IpNet;

/// The address of whoever sent the request.
///
/// * `peer`: who is connected. Where that is a trusted proxy, it has added to `X-Forwarded-For` who
///   was connected to it; the list is read from its end as far as proxies are trusted.
pub(super) fn client(peer: IpAddr, headers: &HeaderMap, trusted: &[IpNet]) -> IpAddr {
    let is_trusted = |address: IpAddr| {
        let address = address.to_canonical();
        trusted.iter().any(|network| network.contains(&address))
    };
    let mut client = peer.to_canonical();
    if trusted.is_empty() || !is_trusted(client) {
        return client;
    }
    let lists: Vec<&str> =
        headers.get_all("x-forwarded-for").filter_map(|list| list.to_str().ok()).collect();
    for named in lists.iter().rev().flat_map(|list| list.rsplit(',')) {
        let Ok(address) = named.trim().parse::<IpAddr>() else { break };
        client = address.to_canonical();
        if !is_trusted(client) {
            break;
        }
    }
    client
}

#[cfg(test)]
mod tests {
    use actix_web::http::header::{HeaderMap, HeaderName, HeaderValue};

    use super::client;

    #[test]
    fn only_a_trusted_proxy_names_the_client_and_the_last_that_is_not_trusted_counts() {
        let trusted = ["127.0.0.0/8".parse().unwrap(), "10.0.0.0/8".parse().unwrap()];
        for (peer, lists, expected) in [
            ("127.0.0.1", vec![], "127.0.0.1"),
            ("127.0.0.1", vec!["192.0.2.7"], "192.0.2.7"),
            ("::ffff:127.0.0.1", vec!["192.0.2.7"], "192.0.2.7"),
            ("192.0.2.1", vec!["203.0.113.9"], "192.0.2.1"),
            ("127.0.0.1", vec!["203.0.113.9, 192.0.2.7, 10.1.2.3"], "192.0.2.7"),
            ("127.0.0.1", vec!["203.0.113.9", "192.0.2.7"], "192.0.2.7"),
            ("127.0.0.1", vec!["192.0.2.7, nobody"], "127.0.0.1"),
            ("127.0.0.1", vec!["2001:db8::5"], "2001:db8::5"),
        ] {
            let mut headers = HeaderMap::new();
            for list in &lists {
                let name = HeaderName::from_static("x-forwarded-for");
                headers.append(name, HeaderValue::from_str(list).unwrap());
            }
            let found = client(peer.parse().unwrap(), &headers, &trusted);
            assert_eq!(found.to_string(), expected, "{peer} {lists:?}");
            assert_eq!(client(peer.parse().unwrap(), &headers, &[]).to_string(), {
                let peer: std::net::IpAddr = peer.parse().unwrap();
                peer.to_canonical().to_string()
            });
        }
    }
}
