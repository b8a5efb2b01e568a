//! HTTP: one file a resource, the route list, and what a request does not reach a handler with.

mod accept;
mod allergens;
mod app;
mod body;
mod book;
mod cards;
mod client;
mod coded;
mod costs;
mod drawing;
mod drinks;
mod explain;
mod fallback;
mod fit;
mod gate;
mod headers;
mod health;
mod identify;
mod key;
mod listen;
mod menu;
mod menus;
mod metrics;
mod needs;
mod openapi;
mod origin;
mod paths;
mod posted;
mod prints;
mod rate;
mod reach;
mod record;
mod reply;
mod shots;
mod sites;
mod slots;
mod state;
mod stickers;
mod stock;
mod stream;
mod strength;
mod tickets;
mod turn;

pub use app::app;
pub use listen::{Listening, listen};
pub use openapi::document;
pub use state::State;

use utoipa_actix_web::service_config::ServiceConfig;

/// Every route; the router and the OpenAPI document are both made from this list.
fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(tickets::expand_ticket)
        .service(tickets::validate_ticket)
        .service(stickers::draw_stickers)
        .service(prints::print_stickers)
        .service(prints::read_print)
        .service(costs::cost_ticket)
        .service(explain::explain_ticket)
        .service(reach::find_set_points)
        .service(coded::read_build)
        .service(shots::check_shot)
        .service(identify::identify_drink)
        .service(drinks::list_drinks)
        .service(drinks::read_drink)
        .service(cards::draw_drink_card)
        .service(cards::draw_line_card)
        .service(sites::list_sites)
        .service(strength::compare_strength)
        .service(fit::read_fit)
        .service(needs::work_out_needs)
        .service(menu::read_menu)
        .service(menu::read_till_map)
        .service(allergens::read_allergens)
        .service(allergens::read_cautions)
        .service(stock::run_out)
        .service(stock::back_again)
        .service(book::read_book)
        .service(book::read_document)
        .service(openapi::read_openapi)
        .service(health::live)
        .service(health::ready)
        .service(metrics::read_metrics);
}
