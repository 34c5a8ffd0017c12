//! Safety of the record: backup, restore, verify, doctor, export.

use std::path::{Path, PathBuf};

use clap::Args;
use journal::{BackupReport, ExportReport, Journal};

use crate::{
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    progress,
};

/// Make a backup and read it back
#[derive(Debug, Args)]
pub struct BackupArgs {
    /// Where to [default: in the folder backups beside the collection, named by the day]
    pub file: Option<PathBuf>,
}

/// Bring a backup into place as the collection
#[derive(Debug, Args)]
pub struct RestoreArgs {
    /// The backup, or a .umbel file
    pub file: PathBuf,
}

/// Read a backup back and say what it holds
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// The backup, or a .umbel file
    pub file: PathBuf,
}

/// Look the record over, changing nothing
#[derive(Debug, Args)]
pub struct DoctorArgs {}

/// Export everything as a folder of CSV files with a data description
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// The folder, which is made
    pub folder: PathBuf,
}

/// Read an exported folder in; what is there already is left as it is
#[derive(Debug, Args)]
pub struct ReadExportArgs {
    /// The folder
    pub folder: PathBuf,
}

fn print_report(house: &House, verb: &str, report: &BackupReport) -> Result {
    let mut table =
        Table::new(&["file", "bytes", "operations", "plants", "entries", "photos", "sha256"]);
    table.row(vec![
        report.path.display().to_string().into(),
        crate::out::Cell::Value(report.size.into()),
        report.operations.into(),
        report.plants.into(),
        report.entries.into(),
        report.photos.into(),
        (&report.hash).into(),
    ]);
    if house.out.form() != Form::Table {
        return house.out.table(&table);
    }
    house.out.line(&format!("{verb}: {}", report.path.display()));
    house.out.line(&format!(
        "{} plants, {} entries, {} operations, {} photos, {} bytes",
        report.plants, report.entries, report.operations, report.photos, report.size
    ));
    house.out.line(&house.out.weak(&format!("SHA-256 {}", report.hash)));
    Ok(())
}

/// Runs `backup`.
pub fn backup(house: &House, args: &BackupArgs) -> Result {
    let journal = house.journal()?;
    let target = args.file.clone().unwrap_or_else(|| {
        let folder = house.path().parent().unwrap_or(Path::new("")).join("backups");
        let time = house.hand.now.strftime("%H%M%S");
        folder.join(format!("{}-{time}.umbel-backup", house.hand.today))
    });
    if target.exists() {
        return Err(Problem::undone(
            format!("{} is there already", target.display()),
            "choose another name; no backup is ever written over",
        ));
    }
    let bar = progress::open_ended("backing up and reading back");
    let report = journal.back_up(&target);
    bar.finish_and_clear();
    print_report(house, "backed up and verified", &report?)
}

/// Runs `restore`.
pub fn restore(house: &House, args: &RestoreArgs) -> Result {
    if house.path().exists() {
        return Err(Problem::undone(
            format!("there is a collection at {} already", house.path().display()),
            "move it away, or name another place with --collection FILE",
        ));
    }
    let bar = progress::open_ended("verifying and unpacking");
    let report = Journal::restore(&args.file, house.path());
    bar.finish_and_clear();
    let report = report?;
    print_report(house, &format!("restored to {}", house.path().display()), &report)
}

/// Runs `verify`.
pub fn verify(house: &House, args: &VerifyArgs) -> Result {
    let bar = progress::open_ended("reading back");
    let report = Journal::verify_backup(&args.file);
    bar.finish_and_clear();
    print_report(house, "sound", &report?)
}

/// Runs `doctor`.
pub fn doctor(house: &House, _: &DoctorArgs) -> Result {
    let journal = house.journal()?;
    let bar = progress::open_ended("looking the record over");
    let health = journal.doctor();
    bar.finish_and_clear();
    let health = health?;
    let sound = health.sound();
    if house.out.form() == Form::Json {
        let mut value = serde_json::to_value(&health).unwrap_or_default();
        value["sound"] = sound.into();
        house.out.json(&value)?;
    } else {
        let mut table = Table::new(&["checked", "found"]);
        table.row(vec!["file".into(), health.path.display().to_string().into()]);
        table.row(vec!["file form".into(), health.form.into()]);
        table.row(vec!["integrity".into(), health.integrity.join("; ").into()]);
        table.row(vec!["references that lead nowhere".into(), health.foreign_keys.into()]);
        let agrees = if health.projection_agrees { "yes" } else { "no" };
        table.row(vec!["present state follows from the operations".into(), agrees.into()]);
        table.row(vec!["photos missing".into(), health.missing_photos.len().into()]);
        table.row(vec!["photos damaged".into(), health.damaged_photos.len().into()]);
        table.row(vec!["blocks of readings damaged".into(), health.damaged_readings.len().into()]);
        table.row(vec!["operations".into(), health.counts.0.into()]);
        table.row(vec!["plants".into(), health.counts.1.into()]);
        table.row(vec!["entries".into(), health.counts.2.into()]);
        house.out.table(&table)?;
    }
    if sound {
        house.out.note("nothing is wrong");
        return Ok(());
    }
    Err(Problem {
        what: "the record is not sound; see above".to_owned(),
        kept: Some("nothing was changed"),
        next: "back the file up as it is, then restore the newest good backup to another file with `umbel restore BACKUP --collection FILE`".to_owned(),
        status: 1,
    })
}

/// Runs `export`.
pub fn export(house: &House, args: &ExportArgs) -> Result {
    let journal = house.journal()?;
    let bar = progress::open_ended("exporting");
    let report = journal.export(&args.folder);
    bar.finish_and_clear();
    print_tables(house, "exported to", &report?)
}

/// Runs `read-export`.
pub fn read_export(house: &House, args: &ReadExportArgs) -> Result {
    if !args.folder.is_dir() {
        return Err(Problem::undone(
            format!("{} is not a folder", args.folder.display()),
            "name the folder that `umbel export` made",
        ));
    }
    let journal = house.journal_or_new()?;
    let bar = progress::open_ended("reading in");
    let report = journal.read_export(&args.folder);
    bar.finish_and_clear();
    let report = report?;
    print_tables(house, "read in from", &report)?;
    if report.before > 0 {
        house.out.note(&format!("{} operations were there already", report.before));
    }
    Ok(())
}

fn print_tables(house: &House, verb: &str, report: &ExportReport) -> Result {
    if house.out.form() == Form::Table {
        house.out.line(&format!("{verb} {}", report.folder.display()));
    }
    let mut table = Table::new(&["file", "rows"]);
    for (file, rows) in &report.rows {
        table.row(vec![file.into(), (*rows).into()]);
    }
    table.row(vec!["photos".into(), report.photos.into()]);
    house.out.table(&table)
}
