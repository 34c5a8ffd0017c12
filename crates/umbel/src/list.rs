//! `umbel list` and `umbel find`.

use answers::{ListPage, PlantListQuery, list_plants};
use clap::Args;
use journal::{PlantFilter, PlantSort, Reader};

use crate::{
    filter::FilterArgs,
    house::House,
    out::{Form, Out, Table},
    problem::Result,
};

/// List plants: filtered, sorted, searched
#[derive(Debug, Args)]
pub struct ListArgs {
    /// Words to be found in names, parents, keepers, places, tags and notes
    pub words: Vec<String>,
    #[command(flatten)]
    pub filter: FilterArgs,
    /// The order
    #[arg(long, value_name = "ORDER", default_value = "name",
          value_parser = ["name", "number", "came", "last", "place", "keeper"])]
    pub sort: String,
    /// Which hundred, from 1; `all` for every plant [default: all]
    #[arg(long, value_name = "PAGE", default_value = "all", hide_default_value = true)]
    pub page: String,
}

/// Find plants of any state by words, tolerant of typing errors
#[derive(Debug, Args)]
pub struct FindArgs {
    /// Words in names, parents, keepers, places, tags or notes; all must be found
    #[arg(required = true)]
    pub words: Vec<String>,
}

/// Runs `list`.
pub fn list(house: &House, args: &ListArgs) -> Result {
    let journal = house.journal()?;
    let sort = PlantSort::of_word(&args.sort);
    let wanted = page_number(&args.page)?;
    let (found, hidden) = house.read(&journal, |reader| {
        let filter = args.filter.filter(reader, &args.words)?;
        let found = pages(reader, house, &filter, sort, wanted)?;
        let any = PlantFilter { state: None, ..filter.clone() };
        let hidden = match filter.state.as_deref() {
            Some("alive") => reader.plants(&any, sort, 0, 1)?.total - found.total,
            _ => 0,
        };
        Ok((found, hidden))
    })?;
    print(&house.out, &found)?;
    if house.out.form() == Form::Table && hidden > 0 {
        house.out.note(&format!("{hidden} more are dead, gone or in doubt: --state any"));
    }
    Ok(())
}

fn page_number(typed: &str) -> Result<Option<usize>> {
    if typed == "all" {
        return Ok(None);
    }
    typed.parse().ok().filter(|n| *n > 0).map(Some).ok_or_else(|| {
        crate::problem::Problem::input(
            format!("--page: “{typed}” is not a page"),
            "write a number from 1, or all",
        )
    })
}

/// Runs `find`.
pub fn find(house: &House, args: &FindArgs) -> Result {
    let journal = house.journal()?;
    let words = Some(args.words.join(" "));
    let filter = PlantFilter { words, ..PlantFilter::default() };
    let found = house.read(&journal, |r| pages(r, house, &filter, PlantSort::Name, None))?;
    print(&house.out, &found)
}

/// One page of the list, or all of them in one.
fn pages(
    reader: &Reader<'_>,
    house: &House,
    filter: &PlantFilter,
    sort: PlantSort,
    wanted: Option<usize>,
) -> Result<ListPage> {
    let ask = |page: usize| {
        let query = PlantListQuery { filter: filter.clone(), sort, page };
        list_plants(reader, &query, &house.hand)
    };
    let mut first = ask(wanted.unwrap_or(1))?;
    if wanted.is_none() {
        for page in 2..=first.pages {
            first.rows.extend(ask(page)?.rows);
        }
    }
    Ok(first)
}

/// Prints a list of plants.
pub fn print(out: &Out, found: &ListPage) -> Result {
    if out.form() == Form::Json {
        return out.json(found);
    }
    if out.form() == Form::Csv {
        return out.table(&table(found));
    }
    out.table(&short_table(found))?;
    if out.form() == Form::Table {
        for (typed, read_as) in &found.read_as {
            if read_as.is_empty() {
                out.note(&format!("“{typed}” is not in the record, nor anything near it"));
            } else {
                out.note(&format!("“{typed}” was read as {}", read_as.join(", ")));
            }
        }
        let shown = found.rows.len();
        let total = usize::try_from(found.total).unwrap_or(0);
        if shown < total {
            out.note(&format!("{shown} of {total} plants; page {} of {}", found.page, found.pages));
        } else if total == 1 {
            out.note("1 plant");
        } else {
            out.note(&format!("{total} plants"));
        }
    }
    Ok(())
}

/// A list of plants as a reader wants it: without what most plants share.
fn short_table(found: &ListPage) -> Table {
    let mut table =
        Table::new(&["number", "name", "parents", "place", "keeper", "came", "state", "tag"]);
    for row in &found.rows {
        let p = &row.plant;
        table.row(vec![
            p.number.into(),
            row.name.clone().into(),
            (&p.parents).into(),
            (&p.place).into(),
            (&p.keeper).into(),
            (&row.came).into(),
            if p.state == "alive" { "".into() } else { (&p.state).into() },
            (&p.tag).into(),
        ]);
    }
    table
}

/// A list of plants as a table with every column.
pub fn table(found: &ListPage) -> Table {
    let mut table = Table::new(&[
        "number", "name", "parents", "place", "keeper", "came", "state", "tag", "last", "code",
    ]);
    for row in &found.rows {
        let p = &row.plant;
        table.row(vec![
            p.number.into(),
            row.name.clone().into(),
            (&p.parents).into(),
            (&p.place).into(),
            (&p.keeper).into(),
            (&row.came).into(),
            (&p.state).into(),
            (&p.tag).into(),
            (&row.last).into(),
            (&p.code).into(),
        ]);
    }
    table
}
