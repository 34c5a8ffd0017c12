//! Loading, finding, checking.

use crate::synthetic::{AREAS_HEADER, Made, NAMES_HEADER, area_row, name, name_row};
use names::checklist::{
    AreaRecord, Areas, Builder, Checklist, LoadError, NameRecord, Occurrence, OpenError,
    OriginCheck, Progress, Sink, Spelling, Status, TableKind, check_name, load_table, load_zip,
};
use names::{Context, read};
use std::io::{Cursor, Write};

const NAMES: &str = include_str!("../data/wcvp-layout-clethra-names.csv");
const DISTRIBUTION: &str = include_str!("../data/wcvp-layout-clethra-distribution.csv");

fn go_on(_: Progress) -> bool {
    true
}

fn clethra() -> Checklist {
    let mut builder = Builder::new();
    // Areas first: the order of the tables does not matter.
    let areas = load_table(DISTRIBUTION.as_bytes(), "d.csv", &mut builder, &mut go_on).unwrap();
    assert_eq!(areas, (TableKind::Distribution, 346));
    let names = load_table(NAMES.as_bytes(), "n.csv", &mut builder, &mut go_on).unwrap();
    assert_eq!(names, (TableKind::Names, 258));
    builder.finish("Kew")
}

fn assert_clethra(list: &Checklist) {
    assert_eq!(list.len(), 258);
    assert_eq!(list.area_count(), 346);
    let accepted = list.iter().filter(|entry| entry.status() == Status::Accepted).count();
    assert_eq!(accepted, 99);
    let arborea = list.find("clethra ARBOREA").unwrap();
    assert_eq!(arborea.name(), "Clethra arborea");
    assert_eq!(arborea.family(), "Clethraceae");
    assert!(arborea.areas().any(|area| area == ("MDR", Occurrence::Native)));
    let synonym = list.find("Clethra alnifolia var. paniculata").unwrap();
    assert_eq!(synonym.status(), Status::Synonym);
    assert!(synonym.accepted().is_some_and(|entry| entry.status() == Status::Accepted));
    assert_eq!(synonym.authors(), "(Sol.) G.Nicholson");
}

#[test]
fn the_published_layout_loads_from_comma_and_pipe_plain_and_zip() {
    assert_clethra(&clethra());
    let piped = |text: &str| {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let mut out = vec![reader.headers().unwrap().iter().collect::<Vec<_>>().join("|")];
        out.extend(reader.records().map(|row| row.unwrap().iter().collect::<Vec<_>>().join("|")));
        format!("\u{FEFF}{}\n", out.join("\n"))
    };
    let mut builder = Builder::new();
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    for (name, text) in [
        ("README.txt", "About these data".to_owned()),
        ("wcvp_distribution.csv", piped(DISTRIBUTION)),
        ("wcvp_names.csv", piped(NAMES)),
    ] {
        zip.start_file(name, options).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    let archive = zip.finish().unwrap();
    let mut seen = Vec::new();
    let read = load_zip(archive, "wcvp.zip", &mut builder, &mut |progress| {
        seen.push((progress.table, progress.rows));
        true
    })
    .unwrap();
    assert_eq!(read, [(TableKind::Distribution, 346), (TableKind::Names, 258)]);
    assert_eq!(seen, [(TableKind::Distribution, 346), (TableKind::Names, 258)]);
    assert_clethra(&builder.finish("Kew"));
}

#[test]
fn an_image_opens_again_and_a_damaged_one_is_refused() {
    let list = clethra();
    let mut bytes = Vec::new();
    list.write_to(&mut bytes).unwrap();
    assert_clethra(&Checklist::open(bytes.clone()).unwrap());
    let again = Checklist::read_from(&bytes[..]).unwrap();
    assert_eq!(again.credit(), "Kew");
    assert_eq!(Checklist::open(b"Begonia".to_vec()).unwrap_err(), OpenError::NotAChecklist);
    let mut newer = bytes.clone();
    newer[7] = 2;
    assert_eq!(Checklist::open(newer).unwrap_err(), OpenError::Version(2));
    for at in [8, 20, 60, 100, bytes.len() / 2, bytes.len() - 1] {
        let mut damaged = bytes.clone();
        damaged[at] ^= 0x40;
        assert!(matches!(Checklist::open(damaged), Err(OpenError::Damaged(_))), "byte {at}");
    }
    for length in [8, 40, 64, bytes.len() - 1] {
        let cut = bytes[..length].to_vec();
        assert!(matches!(Checklist::open(cut), Err(OpenError::Damaged(_))), "length {length}");
    }
}

#[test]
fn errors_name_file_row_column_and_value() {
    let message = |text: &str| {
        let mut builder = Builder::new();
        load_table(text.as_bytes(), "mine.csv", &mut builder, &mut go_on).unwrap_err().to_string()
    };
    let header = "plant_name_id,taxon_name,taxon_status,accepted_plant_name_id\n";
    assert_eq!(
        message(&format!("{header}1,Begonia rex,Accepted,1\nx7,Begonia bowerae,Accepted,2\n")),
        "mine.csv, row 3, column plant_name_id: “x7” is not a whole number. Correct the row or load \
         the file again from its source."
    );
    assert!(
        message(&format!("{header}1,Begonia rex,Accepted\n"))
            .contains("row 2: 3 fields instead of 4")
    );
    assert!(message(&format!("{header}1,,Accepted,1\n")).contains("row 2, column taxon_name"));
    assert!(
        message("plant_name_id,taxon_name\n1,a\n").contains("column “taxon_status” is missing")
    );
    assert!(message("plant,number\na,1\n").contains("none of the known layouts"));
    assert!(message("").contains("none of the known layouts"));
    let areas = "plant_name_id,area_code_l3,introduced\n";
    assert!(message(&format!("{areas}1,BOR,yes\n")).contains("column introduced: “yes”"));
    assert!(message(&format!("{areas}1,BORNEO,0\n")).contains("column area_code_l3: “BORNEO”"));
    let mut builder = Builder::new();
    let latin1 = [header.as_bytes(), b"1,Begonia m\xFClleri,Accepted,1\n"].concat();
    let error = load_table(&latin1[..], "mine.csv", &mut builder, &mut go_on).unwrap_err();
    assert!(matches!(error, LoadError::NotUtf8 { row: 2, .. }), "{error}");
    let error = load_zip(Cursor::new(b"PK no".to_vec()), "a.zip", &mut builder, &mut go_on);
    assert!(error.unwrap_err().to_string().starts_with("a.zip: "));
}

#[test]
fn loading_can_be_stopped_and_a_sink_can_refuse() {
    let mut builder = Builder::new();
    let table = Made::new(NAMES_HEADER, 50_000, name_row);
    let mut calls = 0;
    let stopped = load_table(table, "big.csv", &mut builder, &mut |_| {
        calls += 1;
        calls < 2
    });
    assert!(matches!(stopped, Err(LoadError::Cancelled { .. })));
    assert!(builder.len() < 50_000);

    struct Full;
    impl Sink for Full {
        fn name(&mut self, _: NameRecord<'_>) -> Result<(), String> {
            Err("the disk is full".to_owned())
        }
        fn area(&mut self, _: AreaRecord<'_>) -> Result<(), String> {
            Ok(())
        }
    }
    let error = load_table(NAMES.as_bytes(), "n.csv", &mut Full, &mut go_on).unwrap_err();
    assert_eq!(error.to_string(), "n.csv, row 2: the disk is full");
}

fn synthetic(names: u64, areas: u64) -> Checklist {
    let mut builder = Builder::new();
    let table = Made::new(NAMES_HEADER, names, name_row);
    load_table(table, "names", &mut builder, &mut go_on).unwrap();
    let table = Made::new(AREAS_HEADER, areas, |n| area_row(n, names));
    load_table(table, "areas", &mut builder, &mut go_on).unwrap();
    builder.finish("made up")
}

fn assert_synthetic(list: &Checklist, names: u64, areas: u64) {
    assert_eq!(list.len() as u64, names);
    assert_eq!(list.area_count() as u64, areas);
    for n in [0, 1, 2, names / 3 * 3 - 1, names / 2] {
        let (genus, species) = name(n);
        let entry = list.find(&format!("{genus} {species}")).unwrap();
        assert_eq!(entry.name(), format!("{genus} {species}"));
        assert_eq!(entry.authors(), "Umb. & Bell.");
        assert_eq!(entry.status() == Status::Synonym, n % 3 == 2);
        let accepted = entry.accepted().unwrap();
        let (genus, species) = name(if n % 3 == 2 { n - 1 } else { n });
        assert_eq!(accepted.name(), format!("{genus} {species}"));
    }
    let keys: Vec<String> = list.iter().take(2000).map(|e| e.name().to_lowercase()).collect();
    assert!(keys.is_sorted());
}

#[test]
fn a_made_up_list_has_every_name_area_and_link() {
    let (names, areas) = (7_000, 10_000);
    assert_synthetic(&synthetic(names, areas), names, areas);
}

/// The size of the public download; its time is measured by hand and told in BENCHMARKS.md:
/// `cargo test -p names --release -- --ignored --nocapture full_size`.
#[test]
#[ignore = "takes long without optimisation"]
fn a_list_of_full_size_loads() {
    let (names, areas) = (1_400_000, 2_000_000);
    let start = std::time::Instant::now();
    let list = synthetic(names, areas);
    let loaded = start.elapsed();
    assert_synthetic(&list, names, areas);
    let bytes = list.as_bytes().to_vec();
    let start = std::time::Instant::now();
    let list = Checklist::open(bytes).unwrap();
    let opened = start.elapsed();
    let (genus, species) = name(700_001);
    let wrong = format!("{genus} {}x", &species[..species.len() - 1]);
    let start = std::time::Instant::now();
    let near = list.nearest(&wrong, 3);
    let found = start.elapsed();
    assert!(near.iter().any(|(entry, distance)| {
        *distance == 1 && entry.name() == format!("{genus} {species}")
    }));
    let start = std::time::Instant::now();
    let near = list.nearest(&format!("X{}", &wrong[1..]), 3);
    println!(
        "loaded in {loaded:?}, opened in {opened:?}, {} MB, nearest in genus {found:?}, over all genera {:?} ({} found)",
        list.as_bytes().len() / 1_000_000,
        start.elapsed(),
        near.len()
    );
}

#[test]
fn the_shipped_extract_is_whole_and_its_areas_exist() {
    let list = Checklist::shipped();
    assert_eq!(list.len(), 2668);
    assert_eq!(list.genera().count(), 19);
    assert!(list.credit().contains("Royal Botanic Gardens, Kew"));
    for entry in list.iter() {
        for (code, _) in entry.areas() {
            assert!(Areas::all().get(code).is_some(), "{code} of {}", entry.name());
        }
        let reading = read(entry.name(), &Context::default());
        assert!(
            reading.verdict != names::Verdict::Invalid,
            "{} {:?}",
            entry.name(),
            reading.problems
        );
    }
}

#[test]
fn a_name_is_checked_for_spelling_synonymy_and_range() {
    let check = |name: &str, origin: Option<&str>, list: &Checklist| {
        check_name(&read(name, &Context::default()), origin, list)
    };
    let list = Checklist::shipped();
    let found = check("Dischidia oiantha Schltr.", Some("Philippines"), list);
    assert_eq!(found.spelling, Spelling::Exact);
    assert_eq!(found.origin, Some(OriginCheck::Native));
    assert!(found.native.contains(&"PHI".to_owned()), "{:?}", found.native);
    assert_eq!(check("Dischidia oiantha", Some("Alaska"), list).origin, Some(OriginCheck::Outside));
    assert_eq!(
        check("Dischidia oiantha", Some("xyzzy"), list).origin,
        Some(OriginCheck::PlaceUnknown)
    );
    let near = check("Dischidia oianthe", None, list);
    assert_eq!(near.spelling, Spelling::Near { names: vec![("Dischidia oiantha".to_owned(), 1)] });
    let genus = check("Dichidia nummularia", None, list);
    assert_eq!(
        genus.spelling,
        Spelling::Near { names: vec![("Dischidia nummularia".to_owned(), 1)] }
    );
    assert_eq!(check("Begonia rex", None, list).spelling, Spelling::GenusNotInList);
    assert_eq!(check("Dischidia 'Sunday Coin'", None, list).spelling, Spelling::NothingToCheck);
    assert_eq!(check("Dischidia quaesitaria", None, list).spelling, Spelling::NotFound);
    assert_eq!(check("Dischidia oiantha 'Sunday Coin'", None, list).spelling, Spelling::Exact);

    let synonym = check("Clethra alnifolia f. paniculata", None, &clethra());
    assert_eq!(synonym.status, Some(Status::Synonym));
    assert_eq!(synonym.accepted.as_deref(), Some("Clethra alnifolia"));
}

#[test]
fn a_check_can_be_handed_on_as_json() {
    let reading = read("Dischidia oianthe", &Context::default());
    let check = check_name(&reading, None, Checklist::shipped());
    let json = serde_json::to_value(&check).unwrap();
    assert_eq!(json["spelling"]["kind"], "near");
    assert_eq!(json["spelling"]["names"][0][0], "Dischidia oiantha");
    assert!(json["accepted"].is_null());
}
