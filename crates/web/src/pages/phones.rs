//! The devices that are known, on the page of the house.

use axum::Form;
use jiff::{Timestamp, tz::TimeZone};
use maud::{Markup, html};
use texts::Texts;

use super::{
    ask::{Answered, Ask, go},
    door::{name_of, secret},
};
use crate::{
    WebError,
    caller::Caller,
    forms::{Sent, choice, field, line},
    layout::Failed,
    phones::addresses,
    roles::Role,
    sessions::{Devices, Session},
};

/// An instant in the house's time zone.
pub(crate) fn clock(at: Timestamp, form: &str) -> String {
    at.to_zoned_datetime(TimeZone::system()).strftime(form).to_string()
}

/// Ends one device.
pub(crate) async fn end(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let id = field(&sent, "id");
    if !Devices(&ask.app.own_journal()).end(id).map_err(|e| ask.failed(e))? {
        return Err(ask.failed(WebError::form("id", id, "is no device that is known here")));
    }
    go("/house#phones")
}

/// Ends all devices.
pub(crate) async fn end_all(ask: Ask) -> Answered {
    Devices(&ask.app.own_journal()).end_all().map_err(|e| ask.failed(e))?;
    go("/house#phones")
}

/// “Phones at the shelf”, on the page of the house.
pub(crate) fn section(ask: &Ask) -> Result<Markup, Failed> {
    let t = ask.t();
    let gate = ask.app.gate();
    let name = name_of(ask)?;
    let here = ask.caller == Caller::Here;
    let owner = ask.caller.role() == Role::Owner;
    let devices = gate.devices(ask.hand.now).map_err(|e| ask.failed(e))?;
    Ok(html! {
        section.sect id="phones" {
            h2 { (t.t("Phones at the shelf")) }
            p { (state_words(ask, &name)) }
            @if owner { @for note in gate.notes() { p.note { (note) } } }
            @if owner && gate.is_open() && gate.has_passcode() { (pair_form(t)) }
            @if owner && !devices.is_empty() { (list(&devices, t)) }
            @if matches!(ask.caller, Caller::Known(_)) {
                form.inline method="post" action="/door/leave" { button.btn { (t.t("Leave on this device")) } }
                p.note { (t.t("Passcode and name are changed only on the machine where Umbel runs.")) }
            }
            (caution(ask))
            @if here { (passcode_forms(t, gate.has_passcode())) (name_form(t, &name)) }
        }
    })
}

/// What stands beside everything that lets a device in.
pub(crate) fn caution(ask: &Ask) -> Markup {
    let (t, gate) = (ask.t(), ask.app.gate());
    html! {
        p class="note caution" {
            b { (t.t("In your own network only.")) } " "
            (t.t("Who has the passcode, or a code while it can be used, can write into the record. Do not open the house in a network of strangers, and use a passcode that opens nothing else."))
        }
        @if gate.encrypts() {
            p.note { (t.t("What goes between is encrypted with the house's own certificate. Nobody else vouches for it, so each phone warns once: go on only if the fingerprint that it shows is this one.")) }
            p.raw { (gate.ways().fingerprint) }
        } @else if gate.is_open() {
            p class="note caution" { b { (t.t("Not encrypted, as was chosen.")) } " " (t.t("Whoever listens in this network can read what goes between, the passcode too, and write in a phone's name. Start Umbel without --plain to encrypt it.")) }
        }
    }
}

fn state_words(ask: &Ask, name: &str) -> String {
    let (t, gate) = (ask.t(), ask.app.gate());
    if !gate.has_passcode() {
        return t.t("No passcode is set: the pages can be opened on this machine only.").to_owned();
    }
    if !gate.is_open() {
        return t
            .t("A passcode is set. Start Umbel with “umbel open --phones” to open the pages to phones; now they can be opened on this machine only.")
            .to_owned();
    }
    let own: Vec<String> = addresses().iter().map(ToString::to_string).collect();
    t.f(
        "The pages are open to phones that are let in. This house is called {name}; its addresses are {addresses}.",
        &[("name", &name), ("addresses", &own.join(", "))],
    )
}

/// The sentence by which a further device is paired.
fn pair_form(t: Texts) -> Markup {
    let roles: Vec<(String, String)> =
        Role::ALL.iter().map(|r| (r.as_str().to_owned(), r.words(t).to_owned())).collect();
    html! {
        form.form method="post" action="/house/phones/pair" {
            h3 { (t.t("Let a phone in")) }
            (line(t.t("Who will hold it"), "name", "", t.t("what it writes stands under this name; may stay empty for an owner")))
            (choice(t.t("As"), "role", &roles, Role::Helper.as_str()))
            button.btn { (t.t("Show the square")) }
            p.note { (t.t("Whoever gives the passcode comes in as owner.")) }
        }
    }
}

fn list(devices: &[Session], t: Texts) -> Markup {
    html! {
        h3 { (t.f("one device is known|{n} devices are known", &[("n", &devices.len())])) }
        table class="t list stack" {
            thead { tr { th { (t.t("Who")) } th { (t.t("As")) } th { (t.t("Since")) } th { (t.t("Last seen")) } th { (t.t("Until")) } th {} } }
            tbody { @for d in devices { tr data-row {
                td { @if d.name.is_empty() { (t.t("the house's own hand")) } @else { (d.name) } ", " (t.word(&d.device)) }
                td { (d.role.words(t)) }
                td.num { (clock(d.since, "%Y-%m-%d %H:%M")) }
                td.num { @if let Some(seen) = d.seen { (clock(seen, "%Y-%m-%d %H:%M")) } }
                td.num { (clock(d.until, "%Y-%m-%d")) }
                td {
                    form.undo method="post" action="/house/phones/end" {
                        input type="hidden" name="id" value=(d.id());
                        button { (t.t("End")) }
                    }
                }
            } } }
        }
        form.inline method="post" action="/house/phones/forget" { button.btn { (t.t("End all")) } }
        p.note { (t.t("What a device that was ended still asks for is refused at once. “Last seen” is written down every ten minutes.")) }
    }
}

fn passcode_forms(t: Texts, set: bool) -> Markup {
    html! {
        form.form method="post" action="/house/passcode" {
            (secret(t.t("New passcode"), "passcode", "new-password", t.t("at least 8 characters; four words are good")))
            (secret(t.t("Once more"), "again", "new-password", ""))
            button.btn { @if set { (t.t("Change the passcode")) } @else { (t.t("Set the passcode")) } }
        }
        @if set {
            form.inline method="post" action="/house/passcode" {
                input type="hidden" name="act" value="take away";
                button.btn { (t.t("Take the passcode away")) }
            }
            p.note { (t.t("Changing it or taking it away ends all phones.")) }
        }
    }
}

fn name_form(t: Texts, name: &str) -> Markup {
    html! {
        form.form method="post" action="/house/name" {
            h3 { (t.t("The house's name on labels")) }
            (line(t.t("Name"), "name", name, t.t("one word and .local; chosen once: squares on labels hold it")))
            label.tick { input type="checkbox" name="stale" value="yes"; (t.t("labels printed so far may go stale")) }
            button.btn { (t.t("Keep")) }
            p.note { (t.t("Phones find a new name after Umbel was started again.")) }
        }
    }
}
