//! Prints a list as understood, one row a line.
fn main() {
    for file in std::env::args().skip(1) {
        let Ok(bytes) = std::fs::read(&file) else { continue };
        match intake::understand(&bytes, &file, &intake::Options::default()) {
            Err(e) => println!("{e}"),
            Ok(read) => {
                if std::env::var_os("AS_JSON").is_some() {
                    println!("{}", read.to_json()["rows"]);
                    continue;
                }
                println!(
                    "== {file} {:?} {:?}",
                    read.language,
                    read.mappings.iter().map(|m| &m.columns).collect::<Vec<_>>()
                );
                for r in &read.rows {
                    println!(
                        "{} | {:?}{} | {:?} × {:?} | {:?} | {:?}{} | {:?} | {:?} | {:?} | {:?} | {} | {:?} | {:?} {}",
                        r.row,
                        r.name.as_deref().unwrap_or("-"),
                        if r.needs_a_person { " ASK" } else { "" },
                        r.seed_parent.as_deref().unwrap_or("-"),
                        r.pollen_parent.as_deref().unwrap_or("-"),
                        r.source.as_deref().unwrap_or("-"),
                        r.acquired.as_deref().unwrap_or("-"),
                        if r.acquired_ambiguous { " AMB" } else { "" },
                        r.received_as.as_deref().unwrap_or("-"),
                        r.price.as_ref().map(|p| (p.amount, p.currency.clone())),
                        r.pot.as_ref().map(|p| format!("{}{}", p.value, p.unit)),
                        r.place.as_deref().unwrap_or("-"),
                        r.state,
                        r.tag,
                        r.problems.join(","),
                        r.notes.join(" / ")
                    );
                }
                for s in &read.skipped {
                    println!("   skipped {}: {} [{}]", s.row, s.why, s.text);
                }
                for q in &read.questions {
                    println!("   ? {} {:?} {:?}", q.id, q.rows, q.choices);
                }
            }
        }
    }
}
