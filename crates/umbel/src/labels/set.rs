//! From the arguments to a PDF.

use std::fs;

use printing::{Back, Label, Layout, PrintError, SheetMeasures, Size, labels_pdf};
use web::labels::{label_of, tag_of, words};

use super::{BackArg, LabelsArgs};
use crate::{
    filter::FilterArgs,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    progress, target,
};

impl From<BackArg> for Back {
    fn from(b: BackArg) -> Self {
        match b {
            BackArg::None => Self::None,
            BackArg::Fold => Self::FoldBelow,
            BackArg::Long => Self::DuplexLongEdge,
            BackArg::Short => Self::DuplexShortEdge,
        }
    }
}

/// Runs it.
pub fn run(house: &House, args: &LabelsArgs) -> Result {
    let layout = layout(args)?;
    let journal = house.journal()?;
    let labels = house.read(&journal, |reader| {
        let mut numbers = target::plants(reader, &house.hand, &args.plants)?;
        if !args.conditions.is_empty() {
            let (filter, words) = FilterArgs::read_conditions(&args.conditions)?;
            numbers.extend(reader.plant_numbers(&filter.filter(reader, &words)?)?);
        }
        let plants =
            numbers.iter().map(|n| label_of(reader, *n, &house.hand).map_err(Problem::from));
        let tags = args
            .crosses
            .iter()
            .map(|n| tag_of(reader, *n, None, &house.hand).map_err(Problem::from));
        plants.chain(tags).collect::<Result<Vec<Label>>>()
    })?;
    let bar = progress::open_ended("setting labels");
    let pdf = labels_pdf(&labels, &layout, &words(house.hand.lang));
    bar.finish_and_clear();
    let pdf = pdf?;
    fs::write(&args.out, &pdf.bytes).map_err(|e| Problem::file(&args.out, &e))?;
    let left_off: Vec<String> = pdf
        .left_off
        .iter()
        .filter_map(|(i, field)| labels.get(*i).map(|l| format!("{}: {field:?}", l.number)))
        .collect();
    if house.out.form() != Form::Table {
        let mut table = Table::new(&["file", "labels", "pages", "left_off"]);
        table.row(vec![
            args.out.display().to_string().into(),
            labels.len().into(),
            pdf.pages.into(),
            left_off.join("; ").into(),
        ]);
        return house.out.table(&table);
    }
    let pages = if pdf.pages == 1 { "page" } else { "pages" };
    house.out.line(&format!(
        "{} labels, {} {pages}: {}",
        labels.len(),
        pdf.pages,
        args.out.display()
    ));
    if !left_off.is_empty() {
        house.out.note(&format!("no room for, left to the code: {}", left_off.join("; ")));
    }
    Ok(())
}

fn layout(args: &LabelsArgs) -> Result<Layout> {
    let size = size(&args.size)?;
    let back = args.back.into();
    let tape = matches!(size, Size::Tape { .. });
    let mut layout = match args.sheet.as_str() {
        "a4" if !tape => Layout::a4(size, back),
        "a4" | "single" => Layout::single(size),
        measures => Layout { sheet: Some(sheet(measures)?), ..Layout::single(size) },
    };
    layout.back = back;
    layout.hand = args.hand;
    layout.start_at = args.skip;
    Ok(layout)
}

/// `60x25`, `75 × 20`, `210,5x297`.
fn pair(typed: &str) -> Option<(f64, f64)> {
    let (w, h) = typed.split_once(['x', '×', 'X'])?;
    let mm = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.is_finite() && *v >= 0.0);
    Some((mm(w)?, mm(h)?))
}

fn size(typed: &str) -> Result<Size> {
    let (tape, measures) = match typed.strip_prefix("tape:") {
        Some(rest) => (true, rest),
        None => (false, typed),
    };
    let Some((width, height)) = pair(measures) else {
        return Err(Problem::input(
            format!("--size: “{typed}” is not a size"),
            "write width x height in mm, such as 60x25, 70x30 or tape:40x12",
        ));
    };
    Ok(match (tape, measures) {
        (true, _) => Size::Tape { length: width, width: height },
        (_, "60x25") => Size::Stake60x25,
        (_, "75x20") => Size::Stake75x20,
        (_, "50x30") => Size::Tag50x30,
        _ => Size::Own { width, height },
    })
}

fn sheet(typed: &str) -> Result<SheetMeasures> {
    let bad = |what: &str| {
        Problem::input(
            format!("--sheet: “{what}” cannot be read"),
            "write a4, single, or page=210x297,margin=8x12,columns=3,rows=11,gap=0x0 in mm",
        )
    };
    let mut out = SheetMeasures {
        page_width: 210.0,
        page_height: 297.0,
        margin_left: 0.0,
        margin_top: 0.0,
        columns: 0,
        rows: 0,
        gap_x: 0.0,
        gap_y: 0.0,
    };
    for part in typed.split(',') {
        let (key, value) = part.split_once('=').ok_or_else(|| bad(part))?;
        let count = || value.trim().parse::<usize>().map_err(|_| bad(part));
        let two = || pair(value).ok_or_else(|| bad(part));
        match key.trim() {
            "page" => (out.page_width, out.page_height) = two()?,
            "margin" => (out.margin_left, out.margin_top) = two()?,
            "gap" => (out.gap_x, out.gap_y) = two()?,
            "columns" => out.columns = count()?,
            "rows" => out.rows = count()?,
            _ => return Err(bad(part)),
        }
    }
    Ok(out)
}

impl From<PrintError> for Problem {
    fn from(error: PrintError) -> Self {
        let next = match &error {
            PrintError::NoLabels => "name at least one plant",
            PrintError::Labels(_) => "choose a larger --size, or correct the names",
            _ => "correct --size or --sheet",
        };
        Self {
            what: error.to_string(),
            kept: Some("no file was written"),
            next: next.to_owned(),
            status: 2,
        }
    }
}
