//! Prices, pots and numbers of plants.

use std::sync::LazyLock;

use regex::Regex;

use crate::{
    fold::fold,
    words::{self, has, pattern},
};

const NUMBER: &str = r"(\d{1,3}(?:[.,' ]\d{3})+(?:[.,]\d{1,2})?|\d+(?:[.,]\d{1,2})?)";
const SIGN: &str = r"(us ?\$|u\$s|usd|c ?\$|ca\$|can\$|cad|au?\$|aud|nz\$|nzd|\$|£|gbp|pounds?|quid|€|eur(?:os?)?|chf|sfr\.?|sek|nok|dkk|kr\.?|kronor|kr:-|¥|jpy|dollars?|pence|p|c|cents?|ct|fr\.)";

static BEFORE: LazyLock<Regex> =
    LazyLock::new(|| pattern(&format!(r"(?:^|[^\p{{L}}]){SIGN}\s?{NUMBER}")));
static AFTER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(&format!(r"(?:^|[^\d.,])(?:{NUMBER})(?:[.,]-+|\s?:-)?\s?{SIGN}(?:$|[^\p{{L}}\d])"))
});
static BARE: LazyLock<Regex> =
    LazyLock::new(|| pattern(&format!(r"^(?:ca\.? ?|about |~)?{NUMBER}(?:[.,]?\s?-+|:-|[.,]–)?$")));
static LOT: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[^\d])(\d{1,2})\s?(?:x |st |stk |stuck )?(?:for|voor|fur|fuer|for|pour|por|for|zusammen|each for|a)\s?(?:[^\d\s]{0,4}\s?\d)",
    )
});
/// "£5 for 2", "5 euros les 2": the sum first, then for how many.
static SUM_FOR: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:[£$€]\s?\d+(?:[.,]\d{1,2})?|\d\s?(?:€|euros?|eur|kr|chf|kronor|pounds?|quid|£))\s(?:for|fur|fuer|voor|pour|por|los|las|les|de)\s(?:the |les |los |las )?(\d{1,2})(?:$|[^\d.,£$€])",
    )
});
static EACH: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[^\p{L}])(?:each|ea|apiece|je|pro stuck|das stuck|stuck|per stuk|p/st|styck|styckvis|la piece|piece|chacun|chacune|cada una?|per plant|elk|each one)(?:$|[^\p{L}])",
    )
});

/// A price cell or a price among notes.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Money {
    pub amount: Option<f64>,
    /// ISO code; `Some("$")` and `Some("kr")` where the sign fits several.
    pub currency: Option<String>,
    /// Number of plants the price is for together.
    pub lot: Option<u32>,
    pub free: bool,
    pub swap: bool,
}

/// The currency a sign or word names.
pub(crate) fn currency(sign: &str) -> Option<&'static str> {
    Some(match sign.trim_end_matches('.').replace(' ', "").as_str() {
        "us$" | "usd" | "u$s" => "USD",
        "c$" | "ca$" | "can$" | "cad" => "CAD",
        "a$" | "au$" | "aud" => "AUD",
        "nz$" | "nzd" => "NZD",
        "$" | "dollar" | "dollars" => "$",
        "£" | "gbp" | "pound" | "pounds" | "quid" | "p" | "pence" => "GBP",
        "€" | "eur" | "euro" | "euros" | "c" | "cent" | "cents" | "ct" => "EUR",
        "chf" | "sfr" | "fr" => "CHF",
        "sek" | "kronor" => "SEK",
        "nok" => "NOK",
        "dkk" => "DKK",
        "kr" | "kr:-" => "kr",
        "¥" | "jpy" => "JPY",
        _ => return None,
    })
}

fn hundredth(sign: &str) -> bool {
    matches!(sign, "p" | "pence" | "c" | "cent" | "cents" | "ct")
}

/// A number with decimal comma or point; the last mark with one or two digits is the decimal one.
pub(crate) fn number(text: &str) -> Option<f64> {
    let mut digits: String = text.chars().filter(|c| !matches!(c, ' ' | '\'')).collect();
    let mark = digits.rfind(['.', ',']).filter(|i| digits.len() - i <= 3);
    if let Some(at) = mark {
        let (whole, part) = digits.split_at(at);
        digits = format!("{}.{}", whole.replace(['.', ','], ""), &part[1..]);
    } else {
        digits = digits.replace(['.', ','], "");
    }
    digits.parse().ok()
}

fn amount(t: &str) -> Option<(f64, Option<String>, std::ops::Range<usize>)> {
    let of = |c: &regex::Captures<'_>, n: usize, s: usize| {
        let sign = c.get(s)?.as_str();
        let code = currency(sign)?;
        let value = number(c.get(n)?.as_str())?;
        let value = if hundredth(sign) { value / 100.0 } else { value };
        Some((value, Some(code.to_owned()), c.get(0)?.range()))
    };
    let before = BEFORE.captures(t).filter(|c| {
        // "p 9" and "c 5" are no prices.
        c.get(1).is_some_and(|s| !hundredth(s.as_str()))
    });
    before.and_then(|c| of(&c, 2, 1)).or_else(|| AFTER.captures(t).and_then(|c| of(&c, 1, 2)))
}

static DASHED: LazyLock<Regex> = LazyLock::new(|| pattern(r"^\d{1,4}(?:[.,]\s?-{1,2}|\s?:-)$"));

/// "25.-", "89:-": a whole price, whatever the currency.
pub(crate) fn dashed(t: &str) -> bool {
    DASHED.is_match(t)
}

/// Reads a price cell.
pub(crate) fn price_cell(text: &str) -> Money {
    let t = fold(text).trim().to_owned();
    let mut money = price_in(&t);
    if money.amount.is_none()
        && let Some(c) = BARE.captures(&t)
    {
        money.amount = c.get(1).and_then(|m| number(m.as_str()));
    }
    // "89:-" is how crowns are written.
    if t.ends_with(":-") && money.currency.is_none() {
        money.currency = Some("kr".to_owned());
    }
    if let Some(c) = LOT_BARE.captures(&t) {
        money.lot = c.get(1).and_then(|m| m.as_str().parse().ok());
    }
    money.free = has(&t, "free");
    money.swap = has(&t, "swap");
    if money.free || money.swap && BARE.captures(&t).is_none() && money.currency.is_none() {
        money.amount = None;
    }
    money
}

static LOT_BARE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^(\d{1,2})\s?(?:x|st|stk|stuck)?\s?(?:(?:for|voor|fur|fuer|pour|por)\s|/\s?[$£€]\s?\d)",
    )
});

/// Finds a price with a currency sign in a folded text.
pub(crate) fn price_in(t: &str) -> Money {
    let mut money = Money::default();
    let t = &*in_digits(t);
    if let Some((value, code, _)) = amount(t) {
        money.amount = Some(value);
        money.currency = code;
        if !EACH.is_match(t)
            && let Some(c) = SUM_FOR.captures(t).or_else(|| LOT.captures(t))
        {
            money.lot = c.get(1).and_then(|m| m.as_str().parse().ok()).filter(|n| *n > 1);
        }
    }
    money
}

/// What a pot cell says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum PotCell {
    Nothing,
    Size(f64, Option<&'static str>),
    NotASize,
}

static POT: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r#"^(?:o|⌀|dia\.?|diam\.?|diametre|topf|pot|kruka|maceta|p|ca\.?|about|~)?\s?(\d+(?:[.,]\d+)?|\d?½)(?:\s?x\s?\d+(?:[.,]\d+)?)?\s?-?(cm|mm|inch(?:es)?|in|zoll|"|''|pouces?|pulgadas?|pulg|tum|duim|l|ltr|litres?|liters?|litros?|liter|ml|dl)?\.?\s?(?:o|pot|topf|kruka|dia|diam|diameter|rund|round|square|sq|eckig|long tom|deep|clay|plastic|plast|ton)?$"#,
    )
});

/// The unit a word names.
pub(crate) fn unit(word: &str) -> Option<&'static str> {
    Some(match word {
        "cm" => "cm",
        "mm" => "mm",
        "in" | "inch" | "inches" | "zoll" | "\"" | "''" | "pouce" | "pouces" | "pulgada"
        | "pulgadas" | "pulg" | "tum" | "duim" => "in",
        "l" | "ltr" | "litre" | "litres" | "liter" | "liters" | "litro" | "litros" | "ml"
        | "dl" => "l",
        _ => return None,
    })
}

/// "9er", "P9": how nurseries write the width in centimetres; "C2" is a container of 2 litres.
/// Common practice, no source.
static NURSERY: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^(?:o ?|ca\.? ?)?(\d{1,2}(?:[.,]\d)?) ?-?er(?:[- ]?(?:topf|topfe|topfchen|container|vierkant))?$|^(?:p|vp|tb|m|t|k|d) ?(\d{1,2}(?:[.,]\d)?)$",
    )
});
static CONTAINER: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"^(?:c|co|cont\.?) ?(\d{1,2}(?:[.,]\d)?)(?: ?l)?$"));

/// Reads a pot cell.
pub(crate) fn pot(text: &str) -> PotCell {
    let t = fold(text).trim().trim_end_matches(['.', ',']).to_owned();
    let t = NURSERY.replace(&t, "$1$2 cm").into_owned();
    let t = CONTAINER.replace(&t, "$1 l").into_owned();
    if t.is_empty() || t == "-" || t == "?" {
        return PotCell::Nothing;
    }
    let Some(c) = POT.captures(&t) else { return PotCell::NotASize };
    let digits = c.get(1).map_or("", |m| m.as_str());
    let value = match digits.strip_suffix('½') {
        Some(whole) => whole.parse::<f64>().unwrap_or(0.0) + 0.5,
        None => match digits.replace(',', ".").parse() {
            Ok(value) => value,
            Err(_) => return PotCell::NotASize,
        },
    };
    let word = c.get(2).map(|m| m.as_str());
    let scaled = match word {
        Some("ml") => value / 1000.0,
        Some("dl") => value / 10.0,
        _ => value,
    };
    PotCell::Size(scaled, word.and_then(unit))
}

static POT_INSIDE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r#"(?:^|[^\d.,])(\d{1,2}(?:[.,]\d)?)\s?-?(cm|inch|in|"|l|litre|liter|zoll)[ -]?(?:pot|topf|kruka|maceta|potje|plastic pot|clay pot)"#,
    )
});

static POT_OF: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r#"(?:^|[^\p{L}])(?:pots?|topf|topfe|topfen|godets?|macetas?|tiestos?|kruka|krukor|potje|potjes|potten|bac|container|conteneur|recipiente)(?: (?:de|of|von|van|av|pa|en|im|con|size|mit|o|⌀)| ?[:=])*\s?o?(\d{1,2}(?:[.,]\d)?)\s?-?(cm|mm|inch|inches|in|"|''|l|litres?|liter|litros?|zoll|pulgadas|pouces|tum)(?:$|[^\p{L}\d])"#,
    )
});

/// A pot named among remarks ("3 inch pot").
pub(crate) fn pot_in(t: &str) -> Option<(f64, &'static str)> {
    let Some(c) = POT_INSIDE.captures(t).or_else(|| POT_OF.captures(t)) else {
        // "9 cm" between commas is a pot as well.
        return t.split([';', ',']).find_map(|part| match pot(part.trim()) {
            PotCell::Size(value, Some(unit)) => Some((value, unit)),
            _ => None,
        });
    };
    let value = c.get(1)?.as_str().replace(',', ".").parse().ok()?;
    Some((value, unit(c.get(2)?.as_str())?))
}

static LEFT: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:kept|keep|keeping|potted on|nog|quedan|quedaron|reste|restent|il en reste|behalten|gehouden|behallit|sparade|sparat|kvar|garde|gardees|gardes|guarde|quedo|me quede con|left|noch|ubrig)\s(\d{1,3})(?:$|[^\d\p{L}/.,])|(?:^|[^\d\p{L}/.])(\d{1,3})\s(?:over|left|kvar|ubrig|quedan|restants?|restantes|remain(?:ing)?|still alive|behalten|kept|gehouden|noch da)(?:$|[^\p{L}])",
    )
});
static UP: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[^\d\p{L}/.])(\d{1,3})\s(?:stuck |st |stk |have |of them |er |plantor |planter |plantas |plants )?(?:up|came up|up so far|have come up|of them|left alive|germinated|aufgelaufen|gekeimt|opgekomen|grodde|uppkomna|leves|levees|germes|nacidas|nacieron|germinaron|germinadas|gekiemd|sprouted|grodda|kom upp)(?:$|[^\p{L}])",
    )
});
static THINGS: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[^\d\p{L}/.,-])(\d{1,3})\s(?:small |young |kleine |petits |petites |pequenas |sma |rooted )?(?:pots|plants|seedlings|cuttings|pieces|plantlets|pups|bulbs|offsets|babies|stuck|stk|topfe|pflanzen|samlinge|stecklinge|exemplare|zwiebeln|potten|planten|zaailingen|stekken|stuks|exemplaren|bollen|pots|plantes|plantules|boutures|brins|pieds|exemplaires|macetas|plantas|plantulas|esquejes|ejemplares|unidades|krukor|plantor|froplantor|sticklingar|exemplar|st|rhizomes|rhizome|rizomas|rhizomer|rizomer|tubers|corms|tubercules|tuberculos|knollen|knolar|lokar|bulbos|bulbes|kindel|hijuelos|rejets|sidoskott|offsets|divisions|leaves in|toppar|divisiones|brotes|gajos|blattstecklinge|bladstekken|wortelstokjes|brotes)(?:$|[^\p{L}])",
    )
});
static GOT: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[^\p{L}])(?:got|took|bought|have|had|x|genommen|gekauft|pris|achete|compre|kocht|kopte)\s(\d{1,2})(?:$|[^\d\p{L}/.,])",
    )
});
/// "no. 13" points to a plant and counts nothing.
static REFERENCE: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"(?:no\.?|nr\.?|n[°º]|#|number|nummer|num\.?|row|zeile|reihe) ?\d+"));
static TAIL: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:babies|cuttings|off mine|plants|seedlings|stekken|stecklinge|sticklingar|boutures|esquejes)[a-z ]*, (\d{1,2})$",
    )
});

/// Numbers as words, but not "one", which is also an article.
const COUNTED: [(&str, &str); 49] = [
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("five", "5"),
    ("six", "6"),
    ("seven", "7"),
    ("eight", "8"),
    ("nine", "9"),
    ("ten", "10"),
    ("dozen", "12"),
    ("zwei", "2"),
    ("drei", "3"),
    ("vier", "4"),
    ("funf", "5"),
    ("sechs", "6"),
    ("sieben", "7"),
    ("acht", "8"),
    ("neun", "9"),
    ("zehn", "10"),
    ("deux", "2"),
    ("trois", "3"),
    ("quatre", "4"),
    ("cinq", "5"),
    ("sept", "7"),
    ("huit", "8"),
    ("neuf", "9"),
    ("dix", "10"),
    ("dos", "2"),
    ("tres", "3"),
    ("cuatro", "4"),
    ("cinco", "5"),
    ("seis", "6"),
    ("siete", "7"),
    ("ocho", "8"),
    ("nueve", "9"),
    ("diez", "10"),
    ("twee", "2"),
    ("drie", "3"),
    ("vijf", "5"),
    ("zes", "6"),
    ("zeven", "7"),
    ("negen", "9"),
    ("tien", "10"),
    ("tva", "2"),
    ("tre", "3"),
    ("fyra", "4"),
    ("fem", "5"),
    ("sju", "7"),
    ("tio", "10"),
];

fn in_digits(t: &str) -> String {
    let word = |w: &str| COUNTED.iter().find(|(name, _)| *name == w).map(|c| c.1);
    t.split(' ').map(|w| word(w).unwrap_or(w)).collect::<Vec<_>>().join(" ")
}

/// How many plants the folded notes say the row stands for; 1 if they say nothing.
pub(crate) fn how_many(t: &str) -> u32 {
    let t = &*REFERENCE.replace_all(t, " ");
    let t = &*in_digits(t);
    let first = |re: &Regex| -> Option<u32> {
        let c = re.captures(t)?;
        c.iter().skip(1).flatten().next()?.as_str().parse().ok()
    };
    first(&LEFT)
        .or_else(|| first(&UP))
        .or_else(|| first(&THINGS))
        .or_else(|| first(&GOT))
        .or_else(|| first(&TAIL))
        .filter(|n| (1..=500).contains(n))
        .unwrap_or(1)
}

/// Whether a cell is nothing but words for "no pot of a size".
pub(crate) fn no_pot(folded: &str) -> bool {
    words::is(folded, "nopot")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_for_several_is_told_whichever_number_comes_first() {
        for (text, lot) in [
            ("£5 for 2", Some(2)),
            ("2 for £5", Some(2)),
            ("5 euros les 2", Some(2)),
            ("3 voor € 10", Some(3)),
            ("15 € für 3", Some(3)),
            ("£5", None),
            ("2/$3", Some(2)),
        ] {
            assert_eq!(price_cell(text).lot, lot, "{text}");
        }
    }

    #[test]
    fn pots_as_nurseries_write_them() {
        for (text, size) in [
            ("9er", (9.0, Some("cm"))),
            ("P9", (9.0, Some("cm"))),
            ("M12", (12.0, Some("cm"))),
            ("5,5er Topf", (5.5, Some("cm"))),
            ("Ø 14 cm", (14.0, Some("cm"))),
            ("C2", (2.0, Some("l"))),
            ("3.5\"", (3.5, Some("in"))),
            ("10", (10.0, None)),
        ] {
            assert_eq!(pot(text), PotCell::Size(size.0, size.1), "{text}");
        }
        assert_eq!(pot("tray"), PotCell::NotASize);
    }
}
