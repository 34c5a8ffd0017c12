//! What a reader is told.

use dates::{Edtf, Lang, say};
use jiff::civil::date;

#[test]
fn said_as_exactly_as_recorded() {
    let cases = [
        ("2025-10-12", "12 October 2025", "12. Oktober 2025"),
        ("2025-10", "October 2025", "Oktober 2025"),
        ("2022-23", "autumn 2022", "Herbst 2022"),
        ("2022-24", "winter 2022–23", "Winter 2022/23"),
        ("2018?", "2018, doubtful", "2018, zweifelhaft"),
        ("1998~", "about 1998", "um 1998"),
        ("1998-05-03~", "about 3 May 1998", "um den 3. Mai 1998"),
        ("1998%", "about 1998, doubtful", "um 1998, zweifelhaft"),
        ("/2015", "before 2015", "vor 2015"),
        ("/2015-03-02", "before 2 March 2015", "vor dem 2. März 2015"),
        ("2015/", "2015 or later", "2015 oder später"),
        ("[2019,2020]", "2019 or 2020", "2019 oder 2020"),
        (
            "[2023-04-07,2023-07-04]",
            "7 April 2023 or 4 July 2023",
            "7. April 2023 oder 4. Juli 2023",
        ),
        ("2019/2020", "between 2019 and 2020", "zwischen 2019 und 2020"),
        ("198X", "the 1980s", "1980er Jahre"),
        ("19XX", "between 1900 and 1999", "zwischen 1900 und 1999"),
        ("2024-XX", "2024, month not known", "2024, Monat nicht bekannt"),
        ("XXXX", "not known", "nicht bekannt"),
        ("/", "not known", "nicht bekannt"),
    ];
    for (text, en, de) in cases {
        let date = Edtf::parse(text).unwrap();
        assert_eq!(say(&date, Lang::En, None), en, "{text}");
        assert_eq!(say(&date, Lang::De, None), de, "{text}");
    }
}

#[test]
fn short_beside_today() {
    let today = Some(date(2025, 11, 3));
    let said = |text: &str, lang| say(&Edtf::parse(text).unwrap(), lang, today);
    assert_eq!(said("2025-10-12", Lang::En), "12 Oct");
    assert_eq!(said("2024-10-12", Lang::En), "12 Oct 2024");
    assert_eq!(said("2025-10-12", Lang::De), "12. Okt.");
    assert_eq!(said("2025-10", Lang::En), "Oct 2025");
}
