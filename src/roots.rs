//! Roots of certificate authorities: they come with the program, for a container has none of its own.

use reqwest::Certificate;

/// Every root that is trusted.
pub(crate) fn roots() -> impl Iterator<Item = Certificate> {
    let roots = webpki_root_certs::TLS_SERVER_ROOT_CERTS.iter();
    roots.filter_map(|der| Certificate::from_der(der).ok())
}
