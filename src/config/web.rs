//! Addresses of the web: origins as browsers send them, and receivers of traces.

use std::net::Ipv6Addr;

/// The origin that `text` states, written as browsers write it (RFC 6454, section 6.2): scheme and
/// host in small letters, and no port that the scheme has anyway.
///
/// * Result: `None` for whatever is no origin, such as one with a path, a user or a bare `*`.
pub(super) fn origin(text: &str) -> Option<String> {
    let text = text.to_ascii_lowercase();
    let (scheme, rest) = text.split_once("://")?;
    let (host, port) = host_and_port(rest)?;
    if !is_scheme(scheme) {
        return None;
    }
    let usual = matches!((scheme, port), ("http", Some(80)) | ("https", Some(443)));
    Some(match port.filter(|_| !usual) {
        Some(port) => format!("{scheme}://{host}:{port}"),
        None => format!("{scheme}://{host}"),
    })
}

/// An address of HTTP or HTTPS to which something can be sent: like an origin, and a path may
/// follow.
pub(super) fn receiver(text: &str) -> Option<String> {
    let (scheme, rest) = text.split_once("://")?;
    let (authority, path) = rest.split_at(rest.find('/').unwrap_or(rest.len()));
    host_and_port(&authority.to_ascii_lowercase())?;
    let plain = path.bytes().all(|one| one.is_ascii_graphic() && !b"?#\"<>\\^`{|}".contains(&one));
    let known = scheme.eq_ignore_ascii_case("http") || scheme.eq_ignore_ascii_case("https");
    (known && plain).then(|| text.to_owned())
}

/// Characters of the longest address that codes on cups begin with.
pub(super) const PUBLIC_BASE_MOST: usize = 60;

/// An address of HTTP or HTTPS that codes begin with: host, perhaps a port and a path, in characters
/// whose capitals a 2-D code holds narrowly (ISO/IEC 18004, section 7.4.4), without a `/` at its end.
///
/// Codes have it in capitals. Scheme and host are the same in these (RFC 3986, section 6.2.2.1); a
/// path is whatever serves it says, so a proxy must take it in either case.
pub fn public_base(text: &str) -> Option<String> {
    let base = receiver(text)?.trim_end_matches('/').to_ascii_lowercase();
    let narrow = |one: u8| one.is_ascii_alphanumeric() || b"-.:/".contains(&one);
    (base.len() <= PUBLIC_BASE_MOST && base.bytes().all(narrow)).then_some(base)
}

/// `text` as a complaint shows it between `mark`s: its first line, whole if short, and nothing at all
/// of an address that holds a user or a password (RFC 3986, section 3.2.1).
pub(super) fn shown(text: &str, mark: &str) -> String {
    const LONGEST: usize = 60;
    if text.contains("://") && text.contains('@') {
        return "an address with a user or a password".to_owned();
    }
    let first = text.lines().next().unwrap_or_default();
    let short: String = first.chars().take(LONGEST).collect();
    let more = if short.len() == text.len() { "" } else { "…" };
    format!("{mark}{short}{more}{mark}")
}

fn is_scheme(scheme: &str) -> bool {
    let rest = |one: u8| one.is_ascii_alphanumeric() || b"+-.".contains(&one);
    scheme.starts_with(|one: char| one.is_ascii_lowercase()) && scheme.bytes().all(rest)
}

/// The host and the port of `text`, if it is these and nothing else.
fn host_and_port(text: &str) -> Option<(&str, Option<u16>)> {
    let at = if text.starts_with('[') {
        text.find(']')? + 1
    } else {
        text.find(':').unwrap_or(text.len())
    };
    let (host, port) = text.split_at(at);
    let port = match port.strip_prefix(':') {
        Some(digits) => {
            let plain = digits.bytes().all(|one| one.is_ascii_digit());
            Some(digits.parse().ok().filter(|_| plain)?)
        }
        None if port.is_empty() => None,
        None => return None,
    };
    is_host(host).then_some((host, port))
}

/// A name, an IPv4 address, or an IPv6 address in brackets; names of other scripts stand in their
/// ASCII form, as browsers send them.
fn is_host(host: &str) -> bool {
    if let Some(inside) = host.strip_prefix('[') {
        return inside.strip_suffix(']').is_some_and(|inside| inside.parse::<Ipv6Addr>().is_ok());
    }
    let plain = |one: u8| one.is_ascii_alphanumeric() || b"-_".contains(&one);
    let label = |label: &str| !label.is_empty() && label.bytes().all(plain);
    host.split('.').all(label)
}
