//! Listening until told to stop.

use std::process::{Command, Stdio};

use web::{Options, WebError};

use super::OpenArgs;
use crate::{
    house::House,
    out::Form,
    problem::{Problem, Result},
};

/// Runs it until it is stopped.
pub fn run(house: &House, args: &OpenArgs) -> Result {
    let options = Options {
        collection: house.path().to_path_buf(),
        demo: args.demo,
        port: args.port,
        phones: args.phones,
        plain: args.plain,
        ..Options::default()
    };
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|e| Problem::undone(e.to_string(), "try again"))?;
    runtime.block_on(async {
        let mut running = web::serve(options).await?;
        if house.out.form() == Form::Json {
            house.out.json(&serde_json::json!({"address": running.address}))?;
        } else {
            house.out.line(&running.address);
        }
        for note in &running.notes {
            house.out.note(note);
        }
        let open = if args.phones { "" } else { "open on this machine only; " };
        house.out.note(&format!("{open}Ctrl-C ends it"));
        if !args.no_browser {
            browse(&running.address);
        }
        let later = running.later();
        tokio::select! {
            ended = running.run(stopped()) => ended?,
            () = tell(house, later) => {}
        }
        Ok(())
    })
}

/// Prints what is to be known while it runs; never done.
async fn tell(house: &House, later: Option<web::Notes>) {
    if let Some(mut later) = later {
        while let Some(note) = later.recv().await {
            house.out.note(&note);
        }
    }
    std::future::pending().await
}

/// Waits for Ctrl-C, or to be told to end.
async fn stopped() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut end) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = end.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}

/// Opens the address in the browser of the desktop, where there is one. That it cannot is no
/// error: the address is printed.
fn browse(address: &str) {
    let opener = if cfg!(target_os = "macos") { "open" } else { "xdg-open" };
    let quiet = || Stdio::null();
    let _ =
        Command::new(opener).arg(address).stdin(quiet()).stdout(quiet()).stderr(quiet()).spawn();
}

impl From<WebError> for Problem {
    fn from(error: WebError) -> Self {
        match error {
            WebError::Ask(e) => e.into(),
            WebError::Record(e) => e.into(),
            WebError::Print(e) => e.into(),
            WebError::NoPasscode => Self::undone(
                "no passcode has been set, so the pages cannot be opened to phones",
                "run “umbel open”, set one on the page House under “Phones at the shelf”, and come back",
            ),
            WebError::Listen { address, source } => Self {
                what: format!("{address} cannot be listened on: {source}"),
                kept: None,
                next: "choose another with --port, or --port 0 for any that is free; perhaps Umbel is open already".to_owned(),
                status: 1,
            },
            other => Self::undone(other.to_string(), "try again"),
        }
    }
}
