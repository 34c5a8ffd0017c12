//! A date in words, as exact as the record and no more.

use jiff::civil::Date;

use crate::{
    Edtf,
    parse::{End, Form},
    point::{Fineness, Point, Season},
};

/// The language a date is said in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Lang {
    /// English.
    #[default]
    En,
    /// German.
    De,
}

/// The date in reader's words: “12 October 2025”, “autumn 2022”, “2018, doubtful”,
/// “about 1998”, “before 2015”, “2019 or 2020”, “between 2019 and 2020”, “the 1980s”,
/// “not known”.
///
/// With `today` months are shortened, and the year of a day in today's year is
/// left out (“12 Oct”). A winter names both years it touches.
#[must_use]
pub fn say(date: &Edtf, lang: Lang, today: Option<Date>) -> String {
    let voice = Voice { lang, today };
    match date.form() {
        Form::Point(p) => voice.qualified(*p),
        Form::OneOf(list) => {
            let said: Vec<String> = list.iter().map(|(a, b)| voice.run(*a, *b)).collect();
            said.join(voice.pick(" or ", " oder "))
        }
        Form::Interval(a, b) => voice.interval(a, b),
    }
}

struct Voice {
    lang: Lang,
    today: Option<Date>,
}

const MONTHS_EN: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];
const SHORT_EN: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const MONTHS_DE: [&str; 12] = [
    "Januar",
    "Februar",
    "März",
    "April",
    "Mai",
    "Juni",
    "Juli",
    "August",
    "September",
    "Oktober",
    "November",
    "Dezember",
];
const SHORT_DE: [&str; 12] =
    ["Jan.", "Feb.", "März", "Apr.", "Mai", "Juni", "Juli", "Aug.", "Sep.", "Okt.", "Nov.", "Dez."];

impl Voice {
    fn pick(&self, en: &'static str, de: &'static str) -> &'static str {
        match self.lang {
            Lang::En => en,
            Lang::De => de,
        }
    }

    fn month(&self, month: i8) -> &'static str {
        let names = match (self.lang, self.today.is_some()) {
            (Lang::En, false) => MONTHS_EN,
            (Lang::En, true) => SHORT_EN,
            (Lang::De, false) => MONTHS_DE,
            (Lang::De, true) => SHORT_DE,
        };
        usize::try_from(month - 1).ok().and_then(|i| names.get(i).copied()).unwrap_or_default()
    }

    fn season(&self, season: Season) -> &'static str {
        match season {
            Season::Spring => self.pick("spring", "Frühling"),
            Season::Summer => self.pick("summer", "Sommer"),
            Season::Autumn => self.pick("autumn", "Herbst"),
            Season::Winter => self.pick("winter", "Winter"),
        }
    }

    fn bare(&self, p: Point) -> String {
        let y = p.year;
        match p.fine {
            Fineness::Nothing => self.pick("not known", "nicht bekannt").to_owned(),
            Fineness::Century => match self.lang {
                Lang::En => format!("between {y} and {}", y + 99),
                Lang::De => format!("zwischen {y} und {}", y + 99),
            },
            Fineness::Decade => match self.lang {
                Lang::En => format!("the {y}s"),
                Lang::De => format!("{y}er Jahre"),
            },
            Fineness::Year => y.to_string(),
            Fineness::YearMonthMissing => {
                format!("{y}, {}", self.pick("month not known", "Monat nicht bekannt"))
            }
            Fineness::Month(m) | Fineness::MonthDayMissing(m) => format!("{} {y}", self.month(m)),
            Fineness::Season(s, _) => self.season_and_year(p, s),
            Fineness::Day(m, d) => {
                let dot = self.pick("", ".");
                let this_year = self.today.is_some_and(|t| t.year() == y);
                let year = if this_year { String::new() } else { format!(" {y}") };
                format!("{d}{dot} {}{year}", self.month(m))
            }
        }
    }

    fn season_and_year(&self, p: Point, season: Season) -> String {
        let two_years =
            p.bounds(crate::Hemisphere::Northern).is_some_and(|(a, b)| a.year() != b.year());
        let name = self.season(season);
        if two_years {
            let next = (p.year + 1) % 100;
            format!("{name} {}{}{next:02}", p.year, self.pick("–", "/"))
        } else {
            format!("{name} {}", p.year)
        }
    }

    fn qualified(&self, p: Point) -> String {
        let mut said = self.bare(p);
        if p.approximate {
            let about = match p.fine {
                Fineness::Day(..) => self.pick("about ", "um den "),
                _ => self.pick("about ", "um "),
            };
            said.insert_str(0, about);
        }
        if p.uncertain {
            said.push_str(self.pick(", doubtful", ", zweifelhaft"));
        }
        said
    }

    /// With the article German wants before a day.
    fn after_preposition(&self, p: Point) -> String {
        let said = self.qualified(p);
        match (self.lang, p.fine) {
            (Lang::De, Fineness::Day(..)) if !p.approximate => format!("dem {said}"),
            (Lang::De, Fineness::Decade) => format!("den {said}n"),
            _ => said,
        }
    }

    fn run(&self, a: Point, b: Point) -> String {
        if a == b { self.qualified(a) } else { self.between(a, b) }
    }

    fn between(&self, a: Point, b: Point) -> String {
        let (a, b) = (self.after_preposition(a), self.after_preposition(b));
        match self.lang {
            Lang::En => format!("between {a} and {b}"),
            Lang::De => format!("zwischen {a} und {b}"),
        }
    }

    fn interval(&self, a: &End, b: &End) -> String {
        match (a, b) {
            (End::At(a), End::At(b)) => self.between(*a, *b),
            (End::At(a), _) => match self.lang {
                Lang::En => format!("{} or later", self.qualified(*a)),
                Lang::De => format!("{} oder später", self.qualified(*a)),
            },
            (_, End::At(b)) => {
                format!("{} {}", self.pick("before", "vor"), self.after_preposition(*b))
            }
            _ => self.pick("not known", "nicht bekannt").to_owned(),
        }
    }
}
