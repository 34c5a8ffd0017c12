//! The house's own certificate: made on first use and kept beside the record.
//!
//! Nobody else vouches for it, so a phone warns once; its fingerprint is shown on the owner's screen
//! to compare. The file holds the secret key: only its owner may read it, and it is in no backup and
//! no export.

use std::{
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    sync::Arc,
};

use jiff::{SignedDuration, Timestamp, tz::TimeZone};
use rcgen::{CertificateParams, DnType, ExtendedKeyUsagePurpose, IsCa, KeyPair, KeyUsagePurpose};
use sha2::{Digest as _, Sha256};
use tokio_rustls::rustls::{
    ServerConfig,
    crypto::ring,
    pki_types::{CertificateDer, PrivateKeyDer, pem::PemObject as _},
};

use crate::WebError;

/// How long a certificate holds \[days\]: phones refuse one that holds longer than 825 days (the
/// requirements of one maker of phones for certificates since 2019; from memory).
const HOLDS_DAYS: i64 = 820;

/// Another is made when it holds no longer than this \[days\].
const RENEW_DAYS: i64 = 30;

/// The certificate of a house.
#[derive(Clone)]
pub(crate) struct Certificate {
    /// SHA-256 of the certificate, as phones show it: pairs of hexadecimal digits.
    pub(crate) fingerprint: String,
    /// What the encryption needs.
    pub(crate) config: Arc<ServerConfig>,
    /// Whether it was made now.
    pub(crate) made: bool,
}

/// Where the certificate of a record lies.
pub(crate) fn path_of(collection: &Path) -> PathBuf {
    collection.with_extension("certificate.pem")
}

fn failed(e: impl std::fmt::Display) -> WebError {
    WebError::Conflict(format!("the house's certificate could not be used: {e}"))
}

/// The certificate of the house, made if there is none for this name that holds long enough.
///
/// # Errors
/// If it cannot be made, kept or used.
pub(crate) fn of_house(
    collection: &Path,
    name: &str,
    now: Timestamp,
) -> Result<Certificate, WebError> {
    let path = path_of(collection);
    let kept = fs::read_to_string(&path).ok().filter(|text| holds(text, name, now));
    let made = kept.is_none();
    let text = match kept {
        Some(text) => text,
        None => {
            let text = make(name, now)?;
            keep(&path, &text)?;
            text
        }
    };
    only_mine(&path)?;
    let certificate = CertificateDer::from_pem_slice(text.as_bytes()).map_err(failed)?;
    let key = PrivateKeyDer::from_pem_slice(text.as_bytes()).map_err(failed)?;
    let pairs: Vec<String> =
        Sha256::digest(&certificate).iter().map(|b| format!("{b:02X}")).collect();
    let mut config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(failed)?
        .with_no_client_auth()
        .with_single_cert(vec![certificate], key)
        .map_err(failed)?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(Certificate { fingerprint: pairs.join(":"), config: Arc::new(config), made })
}

/// What stands before the certificate in its file: for whom, and until when. Programs that read
/// such files pass over it (RFC 7468, section 2).
fn heading(name: &str, until: Timestamp) -> String {
    format!("house: {name}\nuntil: {until}\n")
}

fn holds(text: &str, name: &str, now: Timestamp) -> bool {
    let said = |key: &str| text.lines().find_map(|l| l.strip_prefix(key)).map(str::trim);
    let until = said("until:").and_then(|u| u.parse::<Timestamp>().ok());
    said("house:") == Some(name)
        && until
            .is_some_and(|u| u.duration_since(now) > SignedDuration::from_hours(24 * RENEW_DAYS))
}

/// Makes a key and a certificate for it, as PEM.
fn make(name: &str, now: Timestamp) -> Result<String, WebError> {
    let day = |at: Timestamp| {
        let d = at.to_zoned_datetime(TimeZone::UTC).date();
        let narrow = |n: i8| u8::try_from(n).unwrap_or(1);
        rcgen::date_time_ymd(i32::from(d.year()), narrow(d.month()), narrow(d.day()))
    };
    let days = |n: i64| SignedDuration::from_hours(24 * n);
    // A phone's clock may be a little behind.
    let from = now.checked_sub(days(1)).map_err(failed)?;
    let until = now.checked_add(days(HOLDS_DAYS)).map_err(failed)?;
    let mut wanted = CertificateParams::new(vec![
        name.to_owned(),
        "localhost".to_owned(),
        "127.0.0.1".to_owned(),
    ])
    .map_err(failed)?;
    wanted.distinguished_name.push(DnType::CommonName, name);
    wanted.not_before = day(from);
    wanted.not_after = day(until);
    wanted.is_ca = IsCa::ExplicitNoCa;
    wanted.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    wanted.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let key = KeyPair::generate().map_err(failed)?;
    let certificate = wanted.self_signed(&key).map_err(failed)?;
    Ok(format!("{}{}{}", heading(name, until), key.serialize_pem(), certificate.pem()))
}

/// Writes the file whole or not at all, for its owner's eyes from the first byte on.
fn keep(path: &Path, text: &str) -> Result<(), WebError> {
    let new = path.with_extension("pem-new");
    let _ = fs::remove_file(&new);
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&new).map_err(WebError::file(&new))?;
    file.write_all(text.as_bytes()).map_err(WebError::file(&new))?;
    file.sync_all().map_err(WebError::file(&new))?;
    fs::rename(&new, path).map_err(WebError::file(path))
}

/// Takes the file back from others' eyes, such as after it was copied about.
#[cfg(unix)]
fn only_mine(path: &Path) -> Result<(), WebError> {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = fs::metadata(path).map_err(WebError::file(path))?.permissions().mode();
    if mode & 0o077 != 0 {
        fs::set_permissions(path, fs::Permissions::from_mode(0o600))
            .map_err(WebError::file(path))?;
    }
    Ok(())
}

#[cfg(not(unix))]
fn only_mine(_: &Path) -> Result<(), WebError> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    #[test]
    fn it_is_made_once_and_again_for_another_name_or_when_it_runs_out() {
        let folder = tempfile::tempdir().unwrap();
        let record = folder.path().join("house.umbel");
        let day = at("2025-11-21T18:00:00Z");
        let first = of_house(&record, "umbel.local", day).unwrap();
        assert!(first.made);
        assert_eq!(first.fingerprint.len(), 32 * 3 - 1, "{}", first.fingerprint);
        let same = of_house(&record, "umbel.local", at("2028-01-19T00:00:00Z")).unwrap();
        assert!(!same.made, "788 days later it holds for 31 days more");
        assert_eq!(same.fingerprint, first.fingerprint);
        let other = of_house(&record, "sill.local", day).unwrap();
        assert!(other.made);
        assert_ne!(other.fingerprint, first.fingerprint);
        let late = of_house(&record, "sill.local", at("2028-01-21T00:00:00Z")).unwrap();
        assert!(late.made, "790 days later it holds for less than 30 days");
    }

    #[cfg(unix)]
    #[test]
    fn only_its_owner_may_read_it() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let record = folder.path().join("house.umbel");
        let mode = || fs::metadata(path_of(&record)).unwrap().permissions().mode() & 0o777;
        of_house(&record, "umbel.local", at("2025-11-21T18:00:00Z")).unwrap();
        assert_eq!(mode(), 0o600);
        fs::set_permissions(path_of(&record), fs::Permissions::from_mode(0o644)).unwrap();
        of_house(&record, "umbel.local", at("2025-11-21T18:00:00Z")).unwrap();
        assert_eq!(mode(), 0o600, "taken back");
    }
}
