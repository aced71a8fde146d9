//! The desk: the same work as a page in the browser, on this machine alone. The only folder that knows the web.
//!
//! ```text
//! page/ (HTML, CSS, JavaScript, inside the program)
//!   | requests with the secret of this start, to this address (access)
//! routes, answer_routes > answer, columns, take, after > desk: one folder (home), one engine that keeps what did not change, whose turn it is (turn)
//!                                           \-> edit: changes become the text of a plan, its comments kept
//! farm: the fields of a farm as a list and a map, each with a desk of its own
//! ```
//!
//! The state is the plan on the disk. Each request says which plan it knows; where that is no longer the one on the disk, nothing is done
//! and the page is told. The desk can be stopped and started at any time.

mod access;
mod after;
mod answer;
mod answer_routes;
mod change;
mod columns;
mod controls;
#[expect(
    clippy::module_inception,
    reason = "the desk itself, among what serves it"
)]
mod desk;
mod edit;
mod farm;
mod home;
mod page;
mod refused;
mod reply;
mod routes;
mod served;
mod take;
mod texts;
mod today;
mod turn;

use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;

use access::Access;
use desk::Desk;
use farm::{FarmDesk, FarmHome, FarmServed};
use home::Home;
use served::Served;

use crate::error::{Error, Failure};

/// Most requests that are worked on or wait for the engine in threads of their own.
const MOST_THREADS: usize = 64;

/// Serves the page of a plan, a farm or a folder until the program is ended. `opened` is told the address once it can be asked.
///
/// # Errors
/// Where the path is neither a plan nor a farm file nor a folder, or the port cannot be had.
pub fn serve(
    path: Option<&Path>,
    port: u16,
    opened: impl FnOnce(&str) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let farm = FarmHome::of(path).map(FarmDesk::new).transpose()?;
    let home = match &farm {
        Some(_) => None,
        None => Some(Home::open(path)?),
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .max_blocking_threads(MOST_THREADS)
        .build()
        .map_err(Error::Serve)?;
    runtime.block_on(async {
        // This machine alone: no other can reach the address.
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
        let listener = tokio::net::TcpListener::bind(address)
            .await
            .map_err(Error::Serve)?;
        let port = listener.local_addr().map_err(Error::Serve)?.port();
        let access =
            Access::new(port).map_err(|error| Error::Serve(io::Error::other(error.to_string())))?;
        opened(&access.address())?;
        let router = match (farm, home) {
            (Some(farm), _) => farm::router(Arc::new(FarmServed::new(farm, access))),
            (None, Some(home)) => routes::router(Arc::new(Served::new(Desk::new(home), access))),
            (None, None) => return Ok(()),
        };
        axum::serve(listener, router)
            .await
            .map_err(|error| Error::Serve(error).into())
    })
}
