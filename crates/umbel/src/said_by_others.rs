//! Statements by others and questions to ask them.

use answers::acts::{self, StatementInput};
use clap::Args;
use journal::SubjectKind;

use crate::{
    clones::done,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    target,
};

/// Keep what somebody else said about a plant, cross, place or keeper
#[derive(Debug, Args)]
pub struct StatementArgs {
    /// What it is about: a plant number or code, cross:4, place:3, keeper:5
    pub about: String,
    /// The words
    pub text: String,
    /// Who said it
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    pub by: String,
    /// Letter, message, talk, video, book, page, label or list
    #[arg(long, value_name = "MEDIUM", default_value = "", hide_default_value = true)]
    pub medium: String,
    /// Address of a page or video, or title of a book
    #[arg(long, value_name = "ADDRESS", default_value = "", hide_default_value = true)]
    pub address: String,
    /// Page of a book, or minute of a talk
    #[arg(long, value_name = "SPOT", default_value = "", hide_default_value = true)]
    pub spot: String,
    /// When it was said
    #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
    pub on: String,
    /// How far you trust it
    #[arg(long, value_name = "TRUST",
          value_parser = ["certain", "probable", "claimed", "doubted", "refuted"])]
    pub trust: Option<String>,
    /// The question that it answers, by the ending of its identifier
    #[arg(long, value_name = "QUESTION")]
    pub answers: Option<String>,
}

/// Note something to ask; without words, list what is still to be asked
#[derive(Debug, Args)]
pub struct QuestionArgs {
    /// What it is about: a plant number or code, cross:4, place:3, keeper:5
    #[arg(requires = "text")]
    pub about: Option<String>,
    /// What to ask
    pub text: Option<String>,
    /// Whom to ask
    #[arg(long, value_name = "KEEPER")]
    pub whom: Option<String>,
}

/// Runs `statement`.
pub fn statement(house: &House, args: &StatementArgs) -> Result {
    let journal = house.journal()?;
    let (kind, number) = house.read(&journal, |r| target::one(r, &house.hand, &args.about))?;
    let answers = match &args.answers {
        None => None,
        Some(ending) => Some(open_question(house, &journal, ending)?),
    };
    let input = StatementInput {
        text: args.text.clone(),
        said_by: args.by.clone(),
        medium: args.medium.clone(),
        address: args.address.clone(),
        spot: args.spot.clone(),
        said_on: args.on.clone(),
        trust: args.trust.clone().unwrap_or_default(),
        answers,
    };
    let op = acts::add_statement(&journal, &house.hand, kind, number, &input)?;
    done(house, &format!("statement about {} {number} kept", word(kind)), op)
}

fn word(kind: SubjectKind) -> String {
    kind.as_str().replace('_', " ")
}

fn open_question(house: &House, journal: &journal::Journal, ending: &str) -> Result<journal::Uid> {
    let open = house.read(journal, |r| Ok(r.open_questions(None)?))?;
    let mut found = open.iter().filter(|q| q.uid.to_string().ends_with(ending));
    match (found.next(), found.next()) {
        (Some(q), None) => Ok(q.uid),
        _ => Err(Problem::undone(
            format!("“{ending}” is not the ending of one open question"),
            "`umbel question` lists them with their endings",
        )),
    }
}

/// Runs `question`.
pub fn question(house: &House, args: &QuestionArgs) -> Result {
    let journal = house.journal()?;
    if let (Some(about), Some(text)) = (&args.about, &args.text) {
        let (kind, number) = house.read(&journal, |r| target::one(r, &house.hand, about))?;
        let whom = args.whom.as_deref();
        let op = acts::add_question(&journal, &house.hand, kind, number, text, whom)?;
        return done(house, &format!("question about {} {number} kept", word(kind)), op);
    }
    let mut table = Table::new(&["about", "question", "whom", "ending"]);
    for q in house.read(&journal, |r| Ok(r.open_questions(None)?))? {
        let uid = q.uid.to_string();
        table.row(vec![
            q.about.into(),
            q.text.into(),
            q.keeper.into(),
            uid[uid.len().saturating_sub(8)..].into(),
        ]);
    }
    if table.is_empty() && house.out.form() == Form::Table {
        house.out.note("nothing is waiting to be asked");
    }
    house.out.table(&table)
}
