//! The house in its own network: its name, its addresses, and answering for the name.

use std::net::{IpAddr, Ipv4Addr};

use mdns_sd::{DaemonEvent, IfKind, RRType, ServiceDaemon, ServiceInfo};

use crate::WebError;

/// The port that squares on labels lead to: they hold none, which keeps them small.
pub(crate) const LABEL_PORT: u16 = 80;

/// Whether and under what name a house is opened to phones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Opened {
    /// The house's name, in lower case.
    pub(crate) name: String,
}

impl Opened {
    /// Looks whether a record may be opened to phones.
    ///
    /// # Errors
    /// If no passcode has been set, or the record cannot be read.
    pub(crate) fn of(collection: &std::path::Path) -> Result<Self, WebError> {
        let (journal, _) = journal::Journal::open(collection)?;
        if journal.setting("passcode")?.unwrap_or_default().is_empty() {
            return Err(WebError::NoPasscode);
        }
        let name = journal.setting("house")?.unwrap_or_default();
        Ok(Self {
            name: house_name(&name)
                .unwrap_or_else(|_| crate::labels::HOUSE.to_owned())
                .to_lowercase(),
        })
    }
}

/// The house's name as labels carry it, in upper case: one label of a host name and `.LOCAL`
/// (RFC 1123, section 2.1; RFC 6762, section 3).
///
/// # Errors
/// What is wrong with it and what to write.
pub(crate) fn house_name(typed: &str) -> Result<String, &'static str> {
    let name = typed.trim().to_ascii_uppercase();
    let Some(label) = name.strip_suffix(".LOCAL") else {
        return Err("does not end in .local; write one word and .local, such as glasshouse.local");
    };
    if label.is_empty() || label.len() > 63 {
        return Err("needs 1 to 63 characters before .local; write one, such as glasshouse.local");
    }
    if !label.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') {
        return Err(
            "may hold only the letters a to z, digits and hyphens before .local; write one, such as glass-house.local",
        );
    }
    if label.starts_with('-') || label.ends_with('-') {
        return Err("may not begin or end with a hyphen; write one, such as glass-house.local");
    }
    Ok(name)
}

/// The IPv4 addresses of this machine in its networks, at this moment.
pub(crate) fn addresses() -> Vec<Ipv4Addr> {
    let mut found: Vec<Ipv4Addr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .iter()
        .filter(|i| !i.is_loopback())
        .filter_map(|i| match i.ip() {
            IpAddr::V4(ip) => Some(ip),
            IpAddr::V6(_) => None,
        })
        .collect();
    found.sort();
    found.dedup();
    found
}

/// How a browser writes this host at this port.
pub(crate) fn host_at(host: &str, port: u16) -> String {
    if port == 80 { host.to_owned() } else { format!("{host}:{port}") }
}

/// Whether a `Host` header names this machine by one of its addresses in the network, at a port
/// at which it is known as localhost.
pub(crate) fn is_own_address(host: &str, known: &[String], own: &[Ipv4Addr]) -> bool {
    let (ip, port) = host.split_once(':').unwrap_or((host, "80"));
    let (Ok(ip), Ok(port)) = (ip.parse::<Ipv4Addr>(), port.parse::<u16>()) else { return false };
    own.contains(&ip) && known.contains(&host_at("localhost", port))
}

/// What is answered for the house: its addresses under its name, and, as the names of services
/// ask, that pages are served there.
pub(crate) fn records(
    name: &str,
    port: u16,
    addresses: &[Ipv4Addr],
) -> Result<ServiceInfo, mdns_sd::Error> {
    let name = name.to_lowercase();
    let label = name.strip_suffix(".local").unwrap_or(&name);
    let addresses: Vec<IpAddr> = addresses.iter().copied().map(IpAddr::V4).collect();
    ServiceInfo::new(
        "_http._tcp.local.",
        label,
        &format!("{label}.local."),
        addresses.as_slice(),
        port,
        None,
    )
    // The machine may get another address tomorrow; the name must follow.
    .map(ServiceInfo::enable_addr_auto)
}

/// Answers for the house's name until it is dropped.
pub(crate) struct Answering {
    daemon: ServiceDaemon,
    service: String,
}

impl Drop for Answering {
    fn drop(&mut self) {
        use std::time::Duration;
        // The network is told that the name no longer holds; that it may not hear it is no error.
        if let Ok(done) = self.daemon.unregister(&self.service) {
            let _ = done.recv_timeout(Duration::from_millis(300));
        }
        if let Ok(done) = self.daemon.shutdown() {
            let _ = done.recv_timeout(Duration::from_millis(300));
        }
    }
}

/// Begins to answer for the name by multicast DNS (RFC 6762), IPv4 only, as the pages are.
///
/// # Errors
/// If the sockets cannot be had.
pub(crate) fn answer(
    name: &str,
    port: u16,
    tell: impl Fn(String) + Send + 'static,
) -> Result<Answering, mdns_sd::Error> {
    let daemon = ServiceDaemon::new()?;
    daemon.disable_interface(vec![IfKind::IPv6, IfKind::LoopbackV4])?;
    let events = daemon.monitor()?;
    let records = records(name, port, &addresses())?;
    let service = records.get_fullname().to_owned();
    daemon.register(records)?;
    let name = name.to_owned();
    // Ends when the daemon does.
    std::thread::spawn(move || {
        while let Ok(event) = events.recv() {
            if let Some(note) = worth_telling(&event, &name) {
                tell(note);
            }
        }
    });
    Ok(Answering { daemon, service })
}

/// What a grower must know of what happens to the name.
fn worth_telling(event: &DaemonEvent, name: &str) -> Option<String> {
    match event {
        DaemonEvent::NameChange(change)
            if change.rr_type == RRType::A
                && change.original.trim_end_matches('.').eq_ignore_ascii_case(name) =>
        {
            Some(format!(
                "another machine in this network answers to {name} already, so squares on labels lead there; end it there, or choose another name on the page House before labels are printed"
            ))
        }
        DaemonEvent::Error(e) => Some(format!(
            "{name} may not be answered for in this network: {e}; on a phone type the address instead"
        )),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_houses() {
        let good = ["umbel.local", " Glass-House.local ", "UMBEL.LOCAL", "3.local"];
        for typed in good {
            assert_eq!(house_name(typed), Ok(typed.trim().to_uppercase()));
        }
        let long = format!("{}.local", "a".repeat(64));
        let bad = [
            ("umbel", "does not end in .local"),
            ("umbel.example", "does not end in .local"),
            (".local", "1 to 63"),
            (long.as_str(), "1 to 63"),
            ("my house.local", "only the letters"),
            ("glashäuser.local", "only the letters"),
            ("a.b.local", "only the letters"),
            ("-a.local", "hyphen"),
            ("a-.local", "hyphen"),
            ("", "does not end in .local"),
        ];
        for (typed, why) in bad {
            let said = house_name(typed).unwrap_err();
            assert!(said.contains(why), "{typed}: {said}");
        }
    }

    #[test]
    fn own_addresses_are_hosts_at_known_ports_only() {
        let known = ["localhost:8465".to_owned(), "localhost".to_owned()];
        let own = [Ipv4Addr::new(192, 168, 1, 5)];
        for (host, expected) in [
            ("192.168.1.5:8465", true),
            ("192.168.1.5", true),
            ("192.168.1.5:80", true),
            ("192.168.1.5:99", false),
            ("192.168.1.6", false),
            ("192.168.1.5.example", false),
            ("evil.example", false),
            ("", false),
        ] {
            assert_eq!(is_own_address(host, &known, &own), expected, "{host}");
        }
    }

    #[test]
    fn the_name_is_answered_with_the_addresses() {
        let own = [Ipv4Addr::new(192, 168, 1, 5), Ipv4Addr::new(10, 0, 0, 7)];
        let records = records("UMBEL.LOCAL", 80, &own).unwrap();
        assert_eq!(records.get_hostname(), "umbel.local.");
        assert_eq!(records.get_port(), 80);
        let mut held: Vec<Ipv4Addr> = records.get_addresses_v4().into_iter().copied().collect();
        held.sort();
        assert_eq!(held, [own[1], own[0]]);
        assert!(records.requires_probe(), "another house of that name must be noticed");
        assert!(records.is_addr_auto());
    }

    #[test]
    fn a_conflict_is_told() {
        let change = |original: &str, rr_type| {
            DaemonEvent::NameChange(mdns_sd::DnsNameChange {
                original: original.to_owned(),
                new_name: "umbel-2.local.".to_owned(),
                rr_type,
                intf_name: "lan".to_owned(),
            })
        };
        let told = worth_telling(&change("umbel.local.", RRType::A), "umbel.local").unwrap();
        assert!(told.contains("another machine in this network answers to umbel.local"), "{told}");
        assert_eq!(worth_telling(&change("lamp.local.", RRType::A), "umbel.local"), None);
        let quiet = DaemonEvent::Announce("umbel".to_owned(), "lan".to_owned());
        assert_eq!(worth_telling(&quiet, "umbel.local"), None);
    }
}
