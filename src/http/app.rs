//! The app: routes, limits, and an answer for everything that no route takes.

use actix_web::{
    App, Error,
    body::MessageBody,
    dev::{ServiceFactory, ServiceRequest, ServiceResponse},
    middleware::from_fn,
    web::{self, Data},
};
use utoipa_actix_web::AppExt;
use utoipa_swagger_ui::{Config, SwaggerUi};

use super::{
    fallback::{nothing_here, query_fault},
    gate::gate,
    reply::Failure,
    routes,
    state::State,
};
use crate::{
    json::Limits,
    wire::{Kind, Problem},
};

/// The app: routes, limits, and an answer for everything that no route takes.
pub fn app(
    state: Data<State>,
) -> App<
    impl ServiceFactory<
        ServiceRequest,
        Config = (),
        Response = ServiceResponse<impl MessageBody>,
        Error = Error,
        InitError = (),
    >,
> {
    let (app, _) = App::new()
        .into_utoipa_app()
        .app_data(state)
        .app_data(web::PayloadConfig::new(Limits::TICKET.bytes))
        .app_data(
            web::QueryConfig::default()
                .error_handler(|fault, _| Failure::from(query_fault(&fault)).into()),
        )
        .configure(routes)
        .split_for_parts();
    let page = Config::new(["/openapi.json"]).validator_url("none");
    app.service(web::redirect("/docs", "/docs/"))
        .service(SwaggerUi::new("/docs/{_:.*}").config(page))
        .default_service(web::to(nothing_here))
        .wrap(from_fn(gate))
}

/// What `work` gives; a panic, which is a fault of this program, fails this request alone.
pub(super) fn guarded<T>(work: impl FnOnce() -> Result<T, Problem>) -> Result<T, Problem> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(work))
        .unwrap_or_else(|_| Err(Kind::Internal.with("This request met a fault of the program.")))
}
