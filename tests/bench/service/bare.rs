//! The least that can be done with actix-web: read the body, answer a constant.

use std::{fs, net::Ipv4Addr, path::Path};

use actix_web::{App, HttpResponse, HttpServer, http::header::ContentType, web};

/// The argument with which the bench starts itself as this server.
pub(crate) const ROLE: &str = "bare";

/// Serves the bytes of the file `answer` on `port` until it is told to stop.
pub(crate) fn serve(port: u16, answer: &Path) {
    let answer = web::Bytes::from(fs::read(answer).expect("the answer to give"));
    let served = actix_web::rt::System::new().block_on(async move {
        HttpServer::new(move || {
            let answer = answer.clone();
            let constant = move |body: web::Bytes| {
                let answer = answer.clone();
                async move {
                    drop(body);
                    HttpResponse::Ok().content_type(ContentType::json()).body(answer)
                }
            };
            App::new()
                .route("/v1/expand", web::post().to(constant))
                .route("/health/live", web::get().to(HttpResponse::NoContent))
        })
        .workers(1)
        .tcp_nodelay(true)
        .shutdown_timeout(1)
        .bind((Ipv4Addr::LOCALHOST, port))?
        .run()
        .await
    });
    served.expect("it serves");
}
