//! Several things in one cell, and labels without any sign between their parts.

use intake::{Options, understand};

/// Name, keeper, date, kind, pot and price of each row.
fn read(list: &str, file: &str) -> Vec<String> {
    let read = understand(list.as_bytes(), file, &Options::default()).expect("readable");
    let dash = |t: &Option<String>| t.clone().unwrap_or_else(|| "-".to_owned());
    read.rows
        .iter()
        .map(|r| {
            let pot = r.pot.as_ref().map(|p| format!("{} {}", p.value, p.unit));
            let price = r.price.as_ref().map(|p| p.amount.to_string());
            [&r.name, &r.source, &r.acquired, &r.received_as, &pot, &price].map(dash).join(" | ")
        })
        .collect()
}

#[test]
fn keeper_and_date_in_one_column() {
    let list = "Name;Herkunft / Datum;Topf\n\
        Gasteria bicolor;Börse Moordorf, 22.9.2018;9er\n\
        Gasteria batesiana;Gesche, vor 2010;9er\n\
        Gasteria carinata;eigene Aussaat, 4.2.2021;6er\n";
    assert_eq!(
        read(list, "a.csv"),
        [
            "Gasteria bicolor | Börse Moordorf | 2018-09-22 | - | 9 cm | -",
            "Gasteria batesiana | Gesche | /2010 | - | 9 cm | -",
            "Gasteria carinata | own | 2021-02-04 | seed | 6 cm | -",
        ]
    );
}

#[test]
fn everything_in_the_column_for_dates() {
    let list = "Sort,Inskaffad,Plats\n\
        Hippeastrum 'Lanterna',\"ICA dec 2020, 99 kr\",fönster\n\
        Hippeastrum 'Lanterna',\"egen, från ovanstående, 2022\",fönster\n\
        Streptocarpus 'Dimma',byte med Karin maj -21,hylla\n";
    assert_eq!(
        read(list, "a.csv"),
        [
            "Hippeastrum 'Lanterna' | ICA | 2020-12 | - | - | 99",
            "Hippeastrum 'Lanterna' | own | 2022 | - | - | -",
            "Streptocarpus 'Dimma' | Karin | 2021-05 | - | - | -",
        ]
    );
}

#[test]
fn labels_that_run_on() {
    let list = "1) Begonia masoniana von Ute 05/2021 Blatt\n\
        2) Begonia 'Ofenrohr' (von Ute, Mai 2021)\n\
        3) Fuchsia 'Tjuv' fick av Lisa våren 2020\n\
        4) Haworthia truncata ex Koenraad 2018, 8cm, £15\n";
    assert_eq!(
        read(list, "a.txt"),
        [
            "Begonia masoniana | Ute | 2021-05 | cutting | - | -",
            "Begonia 'Ofenrohr' | Ute | 2021-05 | - | - | -",
            "Fuchsia 'Tjuv' | Lisa | 2020-21 | - | - | -",
            "Haworthia truncata | Koenraad | 2018 | - | 8 cm | 15",
        ]
    );
}

#[test]
fn a_header_over_other_things_is_not_believed() {
    let list = "Etikett,Das da,Kommt von\n17,Columnea hirta,Ute\n18,Columnea gloriosa,Gerd\n";
    assert_eq!(
        read(list, "a.csv"),
        ["Columnea hirta | Ute | - | - | - | -", "Columnea gloriosa | Gerd | - | - | - | -"]
    );
}

#[test]
fn ditto_marks_in_tab_files_are_no_quotes() {
    let list = "Plant\tFrom\tWhen\tCost\tPot\n\
        Begonia rex\tOrla\tMay 2021\t£5\t9cm\n\
        Begonia listada\t\"\t\"\t£4\t\"\n\
        Begonia hirta\tDov\t2022\t£3\t8cm\n";
    let rows = read(list, "a.tsv");
    assert_eq!(rows.len(), 3);
    assert!(rows[1].starts_with("Begonia listada | Orla | 2021-05 | - |"), "{}", rows[1]);
    assert!(rows[1].ends_with("| 4"), "{}", rows[1]);
}
