//! The page of the contract: everything that it needs comes from the service itself.

use reqwest::{StatusCode, header};

use crate::server::{Service, kind};

/// What a page refers to with `src` or `href`.
fn referred(page: &str) -> Vec<&str> {
    let after = |begin: &'static str| page.split(begin).skip(1);
    let all = after("src=\"").chain(after("href=\""));
    all.filter_map(|rest| rest.split('"').next()).collect()
}

#[test]
fn the_page_of_the_contract_loads_nothing_from_anywhere_else() {
    let service = Service::start();
    let answer = service.get("/docs/");
    assert_eq!(answer.status(), StatusCode::OK);
    assert!(kind(&answer).starts_with("text/html"));
    // Source: Content Security Policy level 3: a browser refuses whatever is of another origin.
    let policy = answer.headers()[header::CONTENT_SECURITY_POLICY].to_str().unwrap().to_owned();
    assert!(policy.starts_with("default-src 'self';"), "{policy}");
    assert!(!policy.contains("http") && !policy.contains('*'), "{policy}");
    let page = answer.text().expect("a text");
    let parts = referred(&page);
    assert!(parts.len() >= 4, "{parts:?}");
    for part in parts {
        assert!(!part.contains("//"), "{part} is elsewhere");
        let path = format!("/docs/{}", part.trim_start_matches("./"));
        let answer = service.get(&path);
        assert_eq!(answer.status(), StatusCode::OK, "{path}");
        let told = kind(&answer);
        let expected = match path.rsplit('.').next() {
            Some("js") => "javascript",
            Some("css") => "text/css",
            _ => "image/",
        };
        assert!(told.contains(expected), "{path} is {told}");
    }
    let start = service.get("/docs/swagger-initializer.js").text().expect("a text");
    assert!(start.contains("/openapi.json"), "it shows this service's contract: {start}");
    assert!(!start.contains("http://") && !start.contains("https://"), "{start}");
    assert!(start.contains("\"validatorUrl\": \"none\""), "no validator elsewhere: {start}");
}

#[test]
fn the_page_is_found_without_its_last_slash_too_and_takes_no_other_method() {
    let service = Service::start();
    let page = service.get("/docs");
    assert_eq!((page.status(), page.url().path()), (StatusCode::OK, "/docs/"));
    let gone = service.get("/docs/nothing-of-the-kind.js");
    assert_eq!(gone.status(), StatusCode::NOT_FOUND);
}
