//! `umbel ask` and `umbel kin`.

use answers::{Answer, QUESTIONS, kinship_words, say};
use clap::Args;

use crate::{
    evidence_text,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    target,
};

/// Ask a question about a plant; without one, list the questions
#[derive(Debug, Args)]
pub struct AskArgs {
    /// The key of the question, as `umbel ask` lists it
    pub question: Option<String>,
    /// The plant, by number or code
    pub plant: Option<String>,
}

/// How two plants are related
#[derive(Debug, Args)]
pub struct KinArgs {
    /// One plant, by number or code
    pub plant: String,
    /// The other plant
    pub other: String,
}

/// Runs `ask`.
pub fn ask(house: &House, args: &AskArgs) -> Result {
    let Some(question) = &args.question else { return questions(house) };
    let key = question.replace('-', "_");
    if !QUESTIONS.iter().any(|q| q.key == key) {
        return Err(Problem::input(
            format!("“{question}” is not a question that can be answered"),
            "`umbel ask` lists the questions",
        ));
    }
    let Some(plant) = &args.plant else {
        return Err(Problem::input(
            "it is not said which plant is meant",
            format!("write its number after the question, such as `umbel ask {question} 12`"),
        ));
    };
    let journal = house.journal()?;
    let answer = house.read(&journal, |reader| {
        let number = target::plant(reader, &house.hand, plant)?;
        Ok(answers::ask(reader, &key, number, &house.hand)?)
    })?;
    match house.out.form() {
        Form::Json => house.out.json(&serde_json::json!({
            "answer": answer, "said": say(&answer, &house.hand),
        })),
        Form::Csv => house.out.table(&as_table(house, &answer)),
        Form::Table => {
            print(house, &answer);
            house.out.line("");
            house.out.line(&house.out.weak(evidence_text::LEGEND));
            Ok(())
        }
    }
}

fn questions(house: &House) -> Result {
    let t = house.hand.texts();
    let mut table = Table::new(&["question", "words", "method"]);
    for q in QUESTIONS {
        table.row(vec![q.key.into(), t.t(q.words).into(), t.t(q.method).into()]);
    }
    house.out.table(&table)
}

/// The one row of an answer.
fn as_table(house: &House, answer: &Answer) -> Table {
    let said = say(answer, &house.hand);
    let mut table = Table::new(&[
        "question", "value", "lower", "upper", "level", "records", "plants", "sentence", "next",
        "evidence", "gaps",
    ]);
    let usual = answer.usually.as_ref();
    table.row(vec![
        answer.question.into(),
        usual.and_then(|e| e.value).into(),
        usual.and_then(|e| e.lower).into(),
        usual.and_then(|e| e.upper).into(),
        usual.map(|e| e.level).into(),
        answer.evidence.records.into(),
        answer.evidence.plants.into(),
        said.head_text().into(),
        said.next_text().into(),
        said.line.into(),
        said.gaps.join(" ").into(),
    ]);
    table
}

/// Prints an answer with its evidence.
pub fn print(house: &House, answer: &Answer) {
    let out = &house.out;
    let said = say(answer, &house.hand);
    out.line(&out.strong(&said.head_text()));
    if !said.next_text().is_empty() {
        out.line(&format!("  {}", said.next_text()));
    }
    let day = |d: i64| {
        i32::try_from(d)
            .ok()
            .and_then(dates::from_days)
            .map(|d| format!("{:04}-{:02}", d.year(), d.month()))
            .unwrap_or_default()
    };
    if let Some(line) = evidence_text::line(&answer.evidence, day) {
        out.line(&format!("  {line}"));
    }
    out.line(&format!("  {}", said.line));
    for gap in &said.gaps {
        out.line(&format!("  {}", out.weak(gap)));
    }
    for (lead, check) in &said.cautions {
        out.line(&format!("  {}: {check}", out.strong(lead)));
    }
}

/// Runs `kin`.
pub fn kin(house: &House, args: &KinArgs) -> Result {
    let journal = house.journal()?;
    let t = house.hand.texts();
    let (a, b, (kinship, words, gaps)) = house.read(&journal, |reader| {
        let clone = |typed: &str| -> Result<_> {
            let number = target::plant(reader, &house.hand, typed)?;
            let plant = reader.plant(number)?.ok_or_else(|| target::no_plant(number))?;
            let clone = reader.clone_by_id(plant.clone)?;
            let uid = clone.map_or(plant.uid, |c| c.uid);
            Ok((plant, uid))
        };
        let ((a, ua), (b, ub)) = (clone(&args.plant)?, clone(&args.other)?);
        Ok((a, b, kinship_words(reader, ua, ub, t)?))
    })?;
    if house.out.form() == Form::Table {
        let name = |p: &journal::PlantRow| format!("{} {}", p.number, p.name);
        house.out.line(&format!("{}  and  {}", name(&a), name(&b)));
        house.out.line(&format!("kinship {kinship}: {words}"));
        if gaps {
            house.out.note("some parents are not recorded; they were taken as unrelated");
        }
        return Ok(());
    }
    let mut table = Table::new(&["a", "b", "kinship", "relation", "parents_missing"]);
    table.row(vec![
        a.number.into(),
        b.number.into(),
        kinship.into(),
        words.into(),
        crate::out::Cell::Value(gaps.into()),
    ]);
    house.out.table(&table)
}
