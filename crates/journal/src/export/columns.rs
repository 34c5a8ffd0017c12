//! Which files there are, and what their columns mean.

/// One file of the export.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TableDescription {
    /// File name without ending.
    pub name: &'static str,
    /// What a row is.
    pub about: &'static str,
    /// Columns with their meaning.
    pub columns: &'static [(&'static str, &'static str)],
    /// The query that gives the rows, columns in the same order, all as text or whole number.
    pub(crate) query: &'static str,
}

const UID: (&str, &str) = ("id", "identifier (UUID version 7)");
const OP: (&str, &str) = ("operation", "the operation that wrote it");
const SUBJECT: (&str, &str) = ("subject", "identifier of what it is about");
const DATE: &str = "date as EDTF (ISO 8601-2, levels 0 and 1)";

/// The files, in the order in which they are read in.
pub const TABLES: &[TableDescription] = &[
    TableDescription {
        name: "operations",
        about: "one act of one person on one device at one instant; it holds all rows of the other files that name it",
        columns: &[
            UID,
            ("recorded", "when it was recorded, ISO 8601 in UTC"),
            ("who", "who recorded it"),
            ("device", "on which device"),
            ("act", "what was done, as a word"),
            ("about", "to what, in words"),
        ],
        query: "SELECT uid, recorded, who, device, act, about FROM operation ORDER BY seq",
    },
    TableDescription {
        name: "subjects",
        about: "a plant, part, clone, batch, cross, pollination, pollen lot, place, keeper, photo, saved view or supply",
        columns: &[
            UID,
            OP,
            ("kind", "which of these"),
            ("number", "its number, never given twice"),
            ("code", "permanent code of a plant"),
            ("of", "identifier of what it belongs to"),
        ],
        query: "SELECT s.uid, o.uid, s.kind, s.number, s.code, f.uid FROM subject s
                JOIN operation o ON o.seq = s.op LEFT JOIN subject f ON f.id = s.of ORDER BY s.id",
    },
    TableDescription {
        name: "claims",
        about: "a dated, doubtable property of a subject: name, parents, clone and so on; the latest that was not withdrawn holds",
        columns: &[
            UID,
            OP,
            SUBJECT,
            ("field", "which property"),
            ("value", "what is claimed, as JSON"),
            ("as_of", DATE),
            ("said_by", "on whose word"),
            ("reason", "why"),
            ("known", "seen, remembered, photo or told"),
        ],
        query: "SELECT c.uid, o.uid, s.uid, c.field, c.value, c.as_of, c.said_by, c.reason, c.known
                FROM claim c JOIN operation o ON o.seq = c.op JOIN subject s ON s.id = c.subject ORDER BY c.id",
    },
    TableDescription {
        name: "entries",
        about: "one dated happening of the journal",
        columns: &[
            UID,
            OP,
            SUBJECT,
            ("kind", "kind of entry"),
            ("happened", DATE),
            ("known", "seen, remembered, photo or told"),
            ("detail", "the fields of its kind, as JSON; quantities as typed and in a canonical unit"),
            ("note", "free words"),
            ("replaces", "identifier of the entry that it stands in place of"),
        ],
        query: "SELECT e.uid, o.uid, s.uid, e.kind, e.happened, e.known, e.detail, e.note, e.replaces
                FROM entry e JOIN operation o ON o.seq = e.op JOIN subject s ON s.id = e.subject ORDER BY e.id",
    },
    TableDescription {
        name: "statements",
        about: "what somebody else said or wrote",
        columns: &[
            UID,
            OP,
            SUBJECT,
            ("text", "the words"),
            ("keeper", "identifier of the keeper who said it"),
            ("said_by", "who said it, in words"),
            ("medium", "letter, message, talk, video, book, page, label, list"),
            ("address", "address or title"),
            ("spot", "page or minute"),
            ("said_on", DATE),
            ("trust", "certain, probable, claimed, doubted, refuted"),
            ("answers", "identifier of the question that it answers"),
        ],
        query: "SELECT t.uid, o.uid, s.uid, t.text, k.uid, t.said_by, t.medium, t.address, t.spot, t.said_on, t.trust, t.answers
                FROM statement t JOIN operation o ON o.seq = t.op JOIN subject s ON s.id = t.subject
                LEFT JOIN subject k ON k.id = t.keeper ORDER BY t.id",
    },
    TableDescription {
        name: "questions",
        about: "something to ask",
        columns: &[UID, OP, SUBJECT, ("text", "what to ask"), ("keeper", "whom")],
        query: "SELECT q.uid, o.uid, s.uid, q.text, k.uid FROM question q
                JOIN operation o ON o.seq = q.op JOIN subject s ON s.id = q.subject
                LEFT JOIN subject k ON k.id = q.keeper ORDER BY q.id",
    },
    TableDescription {
        name: "left_over",
        about: "something typed that did not fit and waits to be mended",
        columns: &[
            UID,
            OP,
            ("origin", "file, sheet and row"),
            ("cells", "what was typed, as a JSON list"),
            ("why", "why it did not fit"),
        ],
        query: "SELECT l.uid, o.uid, l.origin, l.cells, l.why FROM leftover l
                JOIN operation o ON o.seq = l.op ORDER BY l.id",
    },
    TableDescription {
        name: "series",
        about: "up to 4,096 readings of a logger at a place, packed; `readings.csv` holds them unpacked",
        columns: &[
            UID,
            OP,
            SUBJECT,
            ("logger", "what the logger is called there"),
            ("origin", "the file they came from"),
            ("east", "how far the clocks were ahead of UTC, in seconds"),
            ("packed", "the readings, packed, as hexadecimal digits"),
        ],
        query: "SELECT x.uid, o.uid, s.uid, x.logger, x.origin, x.east, lower(hex(x.packed))
                FROM series x JOIN operation o ON o.seq = x.op JOIN subject s ON s.id = x.subject ORDER BY x.id",
    },
    TableDescription {
        name: "refused",
        about: "lines of a logger's file that were not taken, or not whole",
        columns: &[
            UID,
            OP,
            SUBJECT,
            ("logger", "what the logger is called there"),
            ("origin", "the file they came from"),
            ("lines", "the lines with their rows and reasons, as JSON"),
        ],
        query: "SELECT x.uid, o.uid, s.uid, x.logger, x.origin, x.lines
                FROM refused x JOIN operation o ON o.seq = x.op JOIN subject s ON s.id = x.subject ORDER BY x.id",
    },
    TableDescription {
        name: "brought_in",
        about: "a row of a list that was brought in",
        columns: &[
            OP,
            ("fingerprint", "fingerprint of the row"),
            SUBJECT,
            ("origin", "file, sheet and row"),
        ],
        query: "SELECT o.uid, b.fingerprint, s.uid, b.origin FROM brought_in b
                JOIN operation o ON o.seq = b.op JOIN subject s ON s.id = b.subject ORDER BY b.id",
    },
    TableDescription {
        name: "withdrawals",
        about: "says that a claim, entry, statement, question or left-over row no longer holds",
        columns: &[OP, ("target", "identifier of what no longer holds"), ("why", "why")],
        query: "SELECT o.uid, w.target, w.why FROM withdrawal w
                JOIN operation o ON o.seq = w.op
                WHERE NOT EXISTS(SELECT 1 FROM entry e WHERE e.op = w.op AND e.replaces = w.target)
                   OR w.why IS NOT NULL
                ORDER BY w.id",
    },
    TableDescription {
        name: "reversals",
        about: "says that a whole operation no longer holds (undo)",
        columns: &[OP, ("target", "identifier of the operation")],
        query: "SELECT o.uid, r.target FROM reversal r JOIN operation o ON o.seq = r.op ORDER BY r.id",
    },
];
