//! One name without a formula.

use super::{
    Context, Name, clean, genus,
    quote::{self, straighten},
};
use crate::{
    flora::{FLORA, Spelling},
    fold::{fold, key, squeeze},
    words,
};

const RANKS: [(&str, &str); 9] = [
    ("var.", "var."),
    ("var", "var."),
    ("subsp.", "subsp."),
    ("ssp.", "subsp."),
    ("ssp", "subsp."),
    ("subsp", "subsp."),
    ("f.", "f."),
    ("forma", "f."),
    ("fo.", "f."),
];

/// Authors whose names stand without a full stop; from memory.
const AUTHORS: &str = "\
    Linden Blume Jack Schott Kunth Regel Baker Wight Burtt Clarke Craib Fritsch Griffith \
    Hooker Harms Lindley Loddiges Mansfeld Roth Traub Herbert Wiehler Otto Link Sims \
    Merrill Croat Bunting Lemaire Irmscher Haworth Hort André Stapf Engler Bull Veitch \
    Makino Kraenzlin Cavanilles Raddi Vell Klotzsch Gardner Wallich Hance Dunn Presl Miquel \
    Britton Standley Vahl Nees Lour Poiret Kuntze Ridley Guillaumin Ziesenhenne Liebmann \
    Smith Brown Don Dryander Willdenow Curtis Morren Masters Nicholson Rolfe Hemsley Oliver \
    Bentham Martius Warburg Hayata Gagnepain Ruiz Pavon Swartz Jacquin Linnaeus Thunberg \
    Roxburgh Kunze Reichenbach Decaisne Planchon Poeppig Karsten Oersted Hanstein Skog \
    Morton Leeuwenberg Hilliard Weber Houllet Ziesenh Gaertner Haage Mart Hook Lindl Benth \
    Jacq Chautems Handro Toscano Hoehne Kvist Roalson Boggan Denham Moore Raymond Hemsl \
    Weigend Wang Fang Yan Pellegr Pellegrin Merr Poelln Poellnitz Resende Bayer Breuer \
    Hayashi Rowley Jacobsen Schwantes Cole Dinter Boiss Berger Salm-Dyck Pfeiff Pfeiffer \
    Vaupel Backeb Backeberg Barthlott Kimnach Grayum Madison Boyce Nicolson Engl \
    Krause Hallier Schltr Schlechter Rintz Huber Bruyns Bally Forster Liede Meve Killip \
    MacDougal Ule Mast Mez Ehlers Rauh Ravenna Meerow Irmsch Hughes Kiew Peng Tebbitt \
    Doorenbos Golding Wasshausen Brade Warb Ridl Burkill Hassk Hasskarl Thunb Willd \
    Aiton Ait Cav Salisb Haw Harv Harvey Eckl Zeyh Sond Sonder Burm Murray Mill Medik \
    Desf Lam Lamarck Pers Persoon DC Pav Humb Bonpl Spreng Sprengel Schult Roem Steud Walp \
    Moq Meisn Hochst Vatke Oliv Rendle Verd Verdcourt Codd Gurke Gürke Briq Briquet Launert \
    Merxm Knuth Salter Zucc Zuccarini Rusby Macbr Standl Steyerm Woodson Fosberg Bunt Mayo \
    Gonç Goncalves Moritz Purdy Bogner Zipp Zippel Miq Boerl Koord Teijsm Binn Arn \
    Turcz Bunge Franch Diels Léveillé Vaniot Chun ";

pub(super) fn read(text: &str, ctx: &Context<'_>, cell: &mut clean::Cell) -> Name {
    let mut name = Name::default();
    let mut text = squeeze(text);
    if let Some(q) = quote::quoted(&text) {
        if !q.straight {
            name.code("quotes_fixed");
        }
        if q.inside.contains('\'') {
            name.code("apostrophe_in_epithet");
        }
        let after = text[q.range.end..].trim().to_owned();
        if !after.is_empty() && !after.chars().all(|c| !c.is_alphanumeric()) {
            name.code("words_in_name");
            name.words.push(after);
        }
        text = text[..q.range.start].trim().to_owned();
        name.cultivar = Some(capitals(&q.inside, &mut name.codes));
    }
    let mut tokens: Vec<&str> = text.split_whitespace().collect();
    drop_marks(&mut tokens, &mut name);
    if let [sign, genus, ..] = tokens.as_slice()
        && matches!(*sign, "x" | "X" | "×")
        && genus.starts_with(char::is_uppercase)
        && (name.cultivar.is_some() || tokens.len() > 2)
        && !ctx.parent
    {
        // "x Achimenantha": a hybrid genus.
        if *sign != "×" {
            name.code("hybrid_sign_fixed");
        }
        name.genus = Some(format!("×{genus}"));
        name.full_genus = true;
        epithets(&tokens[2..], &mut name, ctx);
        settle(&mut name, ctx, cell);
        return name;
    }
    let text = tokens.join(" ");
    let found =
        tokens.first().and_then(|first| genus::resolve(first, &with_cultivar(&text, &name), ctx));
    match found {
        Some(found) => {
            name.genus = found.genus;
            name.full_genus = found.full;
            for code in found.codes {
                name.code(code);
            }
            if found.unclear {
                name.ask = true;
                name.choices = found.choices;
                if name.cultivar.is_none() && tokens.len() > found.used {
                    name.words.push(tokens[found.used..].join(" "));
                }
                return name;
            }
            tokens.drain(..found.used.min(tokens.len()));
        }
        None => without_genus(&tokens, &mut name, ctx),
    }
    epithets(&tokens, &mut name, ctx);
    settle(&mut name, ctx, cell);
    name
}

fn with_cultivar(text: &str, name: &Name) -> String {
    match &name.cultivar {
        Some(c) => format!("{text} '{c}'"),
        None => text.to_owned(),
    }
}

/// Drops "cv." and a hybrid sign that stand before a cultivar epithet.
fn drop_marks(tokens: &mut Vec<&str>, name: &mut Name) {
    if let Some(at) = tokens.iter().position(|t| matches!(fold(t).as_str(), "cv." | "cv")) {
        tokens.remove(at);
        name.code("cv_removed");
        if name.cultivar.is_none() && at < tokens.len() {
            let words = tokens.split_off(at).join(" ");
            name.cultivar = Some(straighten(&words));
        }
    }
    if name.cultivar.is_some() && tokens.last().is_some_and(|t| matches!(*t, "x" | "X" | "×")) {
        tokens.pop();
        name.code("hybrid_sign_dropped");
    }
}

/// All capitals or all lower case made a title; anything else stays as typed.
fn capitals(text: &str, codes: &mut Vec<&'static str>) -> String {
    let letters: Vec<char> = text.chars().filter(|c| c.is_alphabetic()).collect();
    let shouting = letters.len() > 4 && letters.iter().all(|c| c.is_uppercase());
    let whispering = letters.len() > 2 && letters.iter().all(|c| c.is_lowercase());
    if !shouting && !whispering {
        return text.to_owned();
    }
    if !codes.contains(&"case_fixed") {
        codes.push("case_fixed");
    }
    title(text)
}

fn title(text: &str) -> String {
    let words: Vec<String> = text
        .split(' ')
        .enumerate()
        .map(|(i, w)| {
            let lower = w.to_lowercase();
            if i > 0 && words::is(&fold(&lower), "stop") {
                return lower;
            }
            let mut c = lower.chars();
            c.next().map_or_else(String::new, |f| f.to_uppercase().collect::<String>() + c.as_str())
        })
        .collect();
    words.join(" ")
}

fn without_genus(tokens: &[&str], name: &mut Name, ctx: &Context<'_>) {
    let words = tokens.join(" ");
    let whole = name.cultivar.clone().unwrap_or_else(|| words.clone());
    let known = ctx
        .registry
        .cultivar(&key(&whole), ctx.genus.as_deref())
        .or_else(|| ctx.registry.cultivar(&key(&whole), None));
    if let Some(known) = known {
        name.genus = Some(known.genus.clone());
        name.code("genus_missing");
        return;
    }
    let first = tokens.first().map(|t| t.to_lowercase()).unwrap_or_default();
    let first = first.trim_start_matches(['×']).to_owned();
    let lower = tokens.first().is_some_and(|t| t.starts_with(char::is_lowercase));
    if let Some(genus) = &ctx.genus {
        let nearly = !matches!(FLORA.spelling(genus, &first), Spelling::Unknown);
        if ctx.parent
            || name.cultivar.is_some()
            || nearly
            || ctx.registry.has_species(genus, &first)
        {
            name.genus = Some(genus.clone());
            name.code("genus_missing");
            return;
        }
    }
    if lower || tokens.len() == 1 {
        let owners: Vec<&String> = ctx
            .registry
            .genera()
            .filter(|g| FLORA.has(g, &first) || ctx.registry.has_species(g, &first))
            .collect();
        if let [one] = owners.as_slice() {
            name.genus = Some((*one).clone());
            name.code("genus_missing");
            return;
        }
        if owners.is_empty()
            && let [one] = FLORA.owners(&first)
        {
            name.genus = Some(one.clone());
            name.code("genus_missing");
            return;
        }
    }
    // In a list of one genus it often goes without saying.
    if let Some(genus) = ctx.registry.only_genus()
        && (name.cultivar.is_some()
            || tokens.iter().all(|t| t.starts_with(char::is_uppercase)) && !tokens.is_empty())
    {
        name.genus = Some(genus.to_owned());
        name.code("genus_missing");
    }
}

fn epithets(tokens: &[&str], name: &mut Name, ctx: &Context<'_>) {
    let mut rest: &[&str] = tokens;
    let Some(genus) = name.genus.clone() else {
        if !tokens.is_empty() {
            name.words.push(tokens.join(" "));
        }
        return;
    };
    if let [sign, tail @ ..] = rest
        && matches!(*sign, "x" | "X" | "×")
        && !tail.is_empty()
    {
        let lower = tail[0].starts_with(char::is_lowercase);
        if lower || FLORA.has(&genus, &tail[0].to_lowercase()) {
            name.hybrid = true;
            if *sign != "×" {
                name.code("hybrid_sign_fixed");
            }
        } else {
            name.code("hybrid_sign_dropped");
        }
        rest = tail;
    }
    let Some(first) = rest.first() else { return };
    let glued = first.strip_prefix('×');
    if glued.is_some() {
        name.hybrid = true;
    }
    let word = glued.unwrap_or(first);
    // "siesta larga" may be a cultivar of the file typed without capitals.
    let all = rest.join(" ");
    if name.cultivar.is_none()
        && let Some(known) = ctx.registry.cultivar(&key(&all), Some(&genus))
        && (rest.len() > 1
            || word.starts_with(char::is_uppercase)
            || FLORA.spelling(&genus, &word.to_lowercase()) == Spelling::Unknown)
        && !FLORA.has(&genus, &word.to_lowercase())
    {
        unquoted(&all, &known.epithet.clone(), name);
        return;
    }
    match species(word, rest, &genus, name, ctx) {
        0 => {}
        used => rest = &rest[used..],
    }
    rest = infraspecific(rest, name);
    if name.species.is_some() {
        rest = authors(rest, name);
    }
    if !rest.is_empty() {
        remainder(rest, name, ctx);
    }
}

/// Reads a species epithet; returns how many words it took.
fn species(word: &str, rest: &[&str], genus: &str, name: &mut Name, ctx: &Context<'_>) -> usize {
    let plain = word.chars().all(|c| c.is_alphabetic() || c == '-');
    if !plain || word.chars().count() < 3 {
        return 0;
    }
    let lower = word.to_lowercase();
    if let [_, second, ..] = rest {
        let joined = format!("{lower}-{}", second.to_lowercase());
        if FLORA.has(genus, &joined) {
            name.code("misspelling");
            name.species = Some(joined);
            return 2;
        }
    }
    let starts_low = word.starts_with(char::is_lowercase);
    let shouting = word.chars().all(char::is_uppercase);
    let spelling = FLORA.spelling(genus, &lower);
    let here = ctx.registry.has_species(genus, &lower);
    if !starts_low {
        let known = spelling == Spelling::Known || here;
        let corrected = shouting && matches!(spelling, Spelling::Corrected(_));
        let alone = rest.len() == 1 || rest[1..].iter().all(|t| t.chars().all(char::is_uppercase));
        let quoted_after = name.cultivar.is_some();
        if !(known || corrected) || !(alone || quoted_after) {
            return 0;
        }
        name.code("case_fixed");
    } else if words::is(&fold(&lower), "stop") {
        return 0;
    }
    if spelling == Spelling::Unknown && !latin(&lower) && !here {
        return 0;
    }
    // "Misère panachée", "Begonia rouge": a word of the owner's language.
    let accents = lower.chars().any(|c| !c.is_ascii() && c != 'ë' && c != 'ï');
    let plain = accents || words::is(&fold(&lower), "looks");
    if spelling == Spelling::Unknown && !here && plain {
        return 0;
    }
    name.species = Some(match spelling {
        Spelling::Corrected(right) => {
            name.code("misspelling");
            right
        }
        _ => lower,
    });
    1
}

/// Whether a word can be a Latin epithet by its ending.
fn latin(word: &str) -> bool {
    let endings = [
        "a", "us", "um", "is", "e", "ii", "i", "ae", "ensis", "ense", "ens", "ans", "or", "x",
        "es", "er", "on", "os", "as", "ium", "o", "ma", "ax", "ps", "ys",
    ];
    word.chars().count() >= 4
        && endings.iter().any(|e| word.ends_with(e))
        && !words::is(&fold(word), "stop")
}

fn infraspecific<'t>(rest: &'t [&'t str], name: &mut Name) -> &'t [&'t str] {
    if let [rank, epithet, tail @ ..] = rest
        && let Some((_, full)) = RANKS.iter().find(|(r, _)| r == rank)
        && epithet.chars().all(|c| c.is_lowercase() || c == '-')
        && name.species.is_some()
    {
        name.infra = Some(format!("{full} {epithet}"));
        return tail;
    }
    rest
}

fn authors<'t>(rest: &'t [&'t str], name: &mut Name) -> &'t [&'t str] {
    let author = |t: &&str| {
        let bare = t.trim_matches(['\u{1}', '\u{2}', '&', ',']);
        let dotted = bare.contains('.') && bare.starts_with(char::is_uppercase);
        bare.is_empty()
            || t.contains('\u{1}')
            || t.contains('\u{2}')
            || dotted
            || AUTHORS.split(' ').any(|a| a == bare.trim_end_matches('.'))
            || matches!(bare, "ex" | "et" | "f." | "hort." | "L" | "DC" | "Hort")
    };
    let n = rest.iter().take_while(|t| author(t)).count();
    // "rex Rose Fantasy": a word that only looks like an author begins a cultivar.
    let dotted = rest[..n].iter().any(|t| t.contains(['.', '\u{1}', '\u{2}']));
    let goes_on = rest.get(n).is_some_and(|t| t.starts_with(char::is_uppercase));
    if n == 0 || (goes_on && !dotted) {
        return rest;
    }
    name.code("author_removed");
    infraspecific(&rest[n..], name)
}

fn unquoted(typed: &str, right: &str, name: &mut Name) {
    name.code("quotes_missing");
    let apostrophes = |s: &str| straighten(s).matches('\'').count();
    if apostrophes(right) > apostrophes(typed) {
        name.code("apostrophe_restored");
    } else if right.contains('\'') {
        name.code("apostrophe_in_epithet");
    }
    if straighten(typed) != right
        && key(typed) == key(right)
        && apostrophes(typed) == apostrophes(right)
    {
        name.code("case_fixed");
    }
    name.cultivar = Some(right.to_owned());
}

fn remainder(rest: &[&str], name: &mut Name, ctx: &Context<'_>) {
    let all = rest.join(" ");
    let all = all.replace(['\u{1}', '\u{2}'], "");
    let capital = all.starts_with(|c: char| c.is_uppercase() || c.is_ascii_digit())
        || all.starts_with(['’', '\''])
        || name
            .genus
            .as_deref()
            .is_some_and(|g| ctx.registry.cultivar(&key(&all), Some(g)).is_some());
    let mix = words::is(&fold(&all), "kinds") || words::is(&fold(&all), "unidentified");
    if name.cultivar.is_some() || !capital || mix {
        name.code("words_in_name");
        name.words.push(all);
        if name.cultivar.is_none() && name.species.is_none() {
            name.code("not_a_name");
            name.ask = true;
        }
        return;
    }
    let genus = name.genus.clone();
    if let Some(known) = ctx.registry.cultivar(&key(&all), genus.as_deref())
        && key(&known.epithet) == key(&all)
    {
        let right = known.epithet.clone();
        unquoted(&all, &right, name);
        return;
    }
    let mut words: Vec<&str> = all.split(' ').collect();
    let mut aside = Vec::new();
    // "Wet Slate cutting": a lower-case word of the trade at the end is no part of it.
    while words.len() > 1
        && words.last().is_some_and(|w| {
            ["cutting", "seedling", "seed", "plant", "division"].iter().any(|m| words::is(w, m))
        })
    {
        aside.extend(words.pop());
    }
    if !aside.is_empty() {
        name.code("words_in_name");
        name.words.push(aside.join(" "));
    }
    name.code("quotes_missing");
    let text = straighten(&words.join(" "));
    if text.contains('\'') {
        name.code("apostrophe_in_epithet");
    }
    name.cultivar = Some(capitals(&text, &mut name.codes));
}

/// Last decisions that need the whole name.
fn settle(name: &mut Name, ctx: &Context<'_>, cell: &clean::Cell) {
    let Some(genus) = name.genus.clone() else {
        if !cell.seedling && !cell.ditto {
            name.code("not_a_name");
            name.ask = true;
        }
        return;
    };
    if FLORA.is_synonym(&genus, name.species.as_deref()) && !ctx.parent {
        name.code("old_name");
    }
    let silent =
        name.bare_genus() && !name.ask && !cell.unidentified && !cell.seedling && !ctx.parent;
    if silent {
        name.code("not_a_name");
        name.ask = true;
    }
}
