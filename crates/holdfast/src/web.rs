//! The local web server: routes, and who may ask what.
//!
//! It listens on loopback. Sharing opens a second door for phones in the same room,
//! behind a one-time code. [`app`] is the router, so that tests need no socket.

mod devices;
mod error;
mod families;
mod fault_papers;
mod faults;
mod fit;
mod fit_papers;
mod fit_parts;
mod formulas;
mod guard;
mod imports;
mod links;
mod refit_follow;
mod refit_wishes;
mod refits;
mod share;
mod sheet;
mod state;
mod tools;

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;

use anyhow::Context as _;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use register::fit::Part;

use crate::workshop::{Places, Workshop};
pub use guard::Door;
pub use share::open as open_sharing;
pub use state::App;

/// What `serve` is told.
pub struct ServeOptions {
    /// Where the workshop and the keys are.
    pub places: Places,
    /// Who is written down as the author of entries.
    pub author: String,
    /// The port on loopback; 0 for any free one.
    pub port: u16,
    /// Switch sharing on at once, on this address.
    pub share_on: Option<SocketAddr>,
    /// Told where the pages are, and the first one-time code.
    pub announce: Box<dyn FnOnce(&str) + Send>,
}

/// The largest body of an ordinary form, bytes.
const FORM_BYTES: usize = 1 << 20;
/// The largest imported file, bytes.
const IMPORT_BYTES: usize = 65 << 20;

/// The pages, as seen through one door.
pub fn app(state: Arc<App>, door: Door) -> Router {
    let imports = Router::new()
        .route("/import", get(imports::upload).post(imports::receive))
        .layer(DefaultBodyLimit::max(IMPORT_BYTES));
    Router::new()
        .route("/", get(links::today))
        .route("/cords", get(links::cords))
        .route("/links", get(links::list))
        .route("/matrix", get(links::matrix))
        .route("/link/{transmitter}/{receiver}", get(links::one))
        .route("/link/{transmitter}/{receiver}/mend", post(links::mend))
        .route("/link/{transmitter}/{receiver}/check", post(links::check))
        .route("/transmitters", get(devices::transmitters))
        .route("/receivers", get(devices::receivers))
        .route("/aircraft", get(devices::aircraft))
        .route("/device/new", get(devices::new).post(devices::create))
        .route("/device/{id}", get(devices::one))
        .route("/device/{id}/{action}", post(devices::act))
        .route("/entry/{id}/{action}", post(devices::entry))
        .route("/families", get(families::list))
        .route("/family/new", get(families::form).post(families::create))
        .route("/family/paste", post(families::paste))
        .route("/family/{name}", get(families::one))
        .route("/faults", get(faults::list).post(faults::begin))
        .route("/faults/new", get(faults::new))
        .route("/faults/card", get(fault_papers::of_symptom))
        .route("/faults/weights", get(fault_papers::weights).post(fault_papers::set_strength))
        .route("/fault/{id}", get(faults::one))
        .route("/fault/{id}/card", get(fault_papers::of_trail))
        .route("/fault/{id}/report", get(fault_papers::of_closing))
        .route("/fault/{id}/{action}", post(faults::act_on))
        .route("/refits", get(refits::list))
        .route("/refits/new", get(refits::new))
        .route("/refits/plan", post(refits::plan))
        .route("/refits/job/{job}", get(refits::look))
        .route("/refits/job/{job}/stop", post(refits::stop))
        .route("/refits/job/{job}/idea", post(refits::idea))
        .route("/refits/job/{job}/begin", post(refits::begin))
        .route("/refit/{id}", get(refit_follow::one))
        .route("/refit/{id}/paper", get(refit_follow::paper))
        .route("/refit/{id}/{action}", post(refit_follow::act_on))
        .merge(commissioning())
        .route("/sheet", get(sheet::choose))
        .route("/sheet/{transmitter}/{other}", get(sheet::of_link))
        .route("/sheet/family/{name}", get(sheet::of_family))
        .route("/sheet/family/{name}/{band}", get(sheet::of_band))
        .route("/formulas", get(formulas::list))
        .route("/formula/{name}", get(formulas::one))
        .route("/import/{job}", get(imports::look))
        .route("/import/{job}/mapping", get(imports::mapping).post(imports::map))
        .route("/import/{job}/apply", post(imports::apply))
        .route("/export", get(imports::exports))
        .route("/export/{file}", get(imports::export))
        .route("/ids", get(tools::ids))
        .route("/ids/step", post(tools::ids_step))
        .route("/spares/{aircraft}", get(tools::spares))
        .route("/whatif", get(tools::what_if))
        .route("/settings", get(tools::settings).post(tools::set))
        .route("/history", get(tools::history))
        .route("/sharing", get(share::page))
        .route("/sharing/{action}", post(share::act))
        .route("/code", get(share::ask).post(share::enter))
        .route("/static/style.css", get(style))
        .route("/static/script.js", get(script))
        .fallback(error::not_found)
        .method_not_allowed_fallback(error::not_found)
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .merge(imports)
        .layer(axum::middleware::from_fn_with_state((state.clone(), door), guard::guard))
        .layer(axum::Extension(door))
        .with_state(state)
}

/// The pages of commissioning.
fn commissioning() -> Router<Arc<App>> {
    let mut router = Router::new()
        .route("/commission", get(fit::fleet))
        .route("/commission/table", get(fit::lapses))
        .route("/commission/did", post(fit::day))
        .route("/device/{id}/commission", get(fit::list))
        .route("/device/{id}/prove", post(fit::prove))
        .route("/device/{id}/did", post(fit::worked))
        .route("/device/{id}/sign", post(fit::sign))
        .route("/device/{id}/card", get(fit_papers::on_page))
        .route("/device/{id}/card.pdf", get(fit_papers::as_pdf))
        .route("/labels", get(fit_papers::choose))
        .route("/labels/print", get(fit_papers::print))
        .route("/labels.pdf", get(fit_papers::labels_pdf));
    for part in Part::ALL.iter().copied() {
        let here = format!("/device/{{id}}/{}", part.word());
        router = router
            .route(
                &here,
                get(move |asked, path| fit_parts::look(asked, path, part))
                    .post(move |asked, path, form| fit_parts::fill(asked, path, form, part)),
            )
            .route(
                &format!("{here}/{{action}}"),
                post(move |asked, path, form| fit_parts::act(asked, path, form, part)),
            );
    }
    router
}

async fn style() -> impl IntoResponse {
    ([("content-type", "text/css; charset=utf-8")], pages::assets::STYLE_CSS)
}

async fn script() -> impl IntoResponse {
    ([("content-type", "text/javascript; charset=utf-8")], pages::assets::SCRIPT_JS)
}

/// Serves a workshop until it is stopped.
///
/// # Errors
/// The workshop can't be opened, or the port can't be had.
pub fn serve(options: ServeOptions) -> anyhow::Result<()> {
    let workshop = Workshop::open(&options.places, &options.author)?;
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async move {
        let at = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), options.port);
        let listener = tokio::net::TcpListener::bind(at)
            .await
            .with_context(|| format!("port {} can't be had; name another with --port", options.port))?;
        let port = listener.local_addr()?.port();
        let state = Arc::new(App::new(workshop));
        let mut hello = format!("Holdfast is at http://127.0.0.1:{port}/ (stop it with Ctrl-C)");
        if let Some(address) = options.share_on {
            share::open(&state, address).await?;
            let (addresses, code) = state.share_code();
            hello = format!("{hello}\nShared at {}; one-time code {code}", addresses.join(" or "));
        }
        (options.announce)(&hello);
        axum::serve(listener, app(state, Door::Loopback))
            .with_graceful_shutdown(async {
                // Where no signal can be had, the process is simply ended.
                if tokio::signal::ctrl_c().await.is_err() {
                    std::future::pending::<()>().await;
                }
            })
            .await?;
        Ok(())
    })
}
