//! Addresses of printers: `ipp` and `ipps`, and where they lead by HTTP (RFC 3510, RFC 7472).

use std::fmt;

/// The port of both schemes (RFC 8010, section 4.2).
const PORT: u16 = 631;

/// The address of a printer: as the printer is told, and as it is reached.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Address {
    /// `ipp://…` or `ipps://…`, as operations name the printer.
    pub(super) uri: String,
    /// `http://…` or `https://…`, with its port.
    pub(super) url: String,
}

impl Address {
    /// Reads an address such as `ipp://10.0.0.7/ipp/print`; port 631 if it names none.
    ///
    /// * Result: none for another scheme, for one with a name and a password, and for none at all.
    pub fn read(uri: &str) -> Option<Self> {
        let (scheme, rest) = uri.split_once("://")?;
        let http = match scheme.to_ascii_lowercase().as_str() {
            "ipp" => "http",
            "ipps" => "https",
            _ => return None,
        };
        let (place, path) = rest.split_at(rest.find('/').unwrap_or(rest.len()));
        if place.is_empty() || rest.contains(['@', '?', '#']) || rest.contains(char::is_whitespace)
        {
            return None;
        }
        let host_end = place.rfind(']').unwrap_or(0);
        let url = match place[host_end..].rsplit_once(':') {
            Some((_, port)) => {
                port.parse::<u16>().ok().filter(|port| *port > 0)?;
                format!("{http}://{place}{path}")
            }
            None => format!("{http}://{place}:{PORT}{path}"),
        };
        reqwest::Url::parse(&url).ok()?;
        Some(Self { uri: uri.to_owned(), url })
    }
}

impl fmt::Debug for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.uri)
    }
}

#[cfg(test)]
mod tests {
    use super::Address;

    fn url(uri: &str) -> Option<String> {
        Address::read(uri).map(|address| address.url)
    }

    /// RFC 3510, section 3, and RFC 7472, section 4: the port is 631 where none is named.
    #[test]
    fn addresses_lead_to_http_at_the_port_that_is_named_or_631() {
        let known = [
            ("ipp://printer.example/ipp/print", "http://printer.example:631/ipp/print"),
            ("ipp://10.0.0.7:8631/ipp", "http://10.0.0.7:8631/ipp"),
            ("ipps://printer.example", "https://printer.example:631"),
            ("ipp://[fe80::1]/ipp/print", "http://[fe80::1]:631/ipp/print"),
            ("ipp://[fe80::1]:631/", "http://[fe80::1]:631/"),
        ];
        for (uri, expected) in known {
            assert_eq!(url(uri).as_deref(), Some(expected), "{uri}");
        }
        for uri in [
            "http://a/",
            "ipp://",
            "ipp:///x",
            "ipp://u@h/",
            "ipp://h:0/",
            "ipp://h:x/",
            "ipp://h/ x",
            "h",
        ] {
            assert_eq!(url(uri), None, "{uri}");
        }
    }
}
