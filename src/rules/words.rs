//! The words of scripts beside rules and built-ins: what defines tables and checks, what rows, the
//! job and dates can do. `reference` prints them, and messages tell how one is written.

/// A word, how it is written and what it does.
pub struct Word {
    pub name: &'static str,
    pub form: &'static str,
    pub about: &'static str,
}

/// A group of words.
pub struct Group {
    pub title: &'static str,
    pub words: &'static [Word],
}

const fn word(name: &'static str, form: &'static str, about: &'static str) -> Word {
    Word { name, form, about }
}

/// All words in reading order.
pub const GROUPS: &[Group] = &[
    Group {
        title: "Defining tables",
        words: &[
            word(
                "table",
                "table(\"key\", \"Title\", |job| rows)",
                "a sheet of the workbook: where its rows come from",
            ),
            word("split", "table(…).split(|row| rows)", "several rows of each, made in parallel"),
            word(
                "column",
                "column(\"key\", \"Heading\", \"unit\", |row| value)",
                "a column of the table above it, or of the table that the file is named after; a column of the same key is replaced where it stands; the function may take the job as a second parameter",
            ),
            word("column", "column(\"key\")", "a column that is there, to change how it is shown"),
            word("total", "column(…).total()", "its sum stands below the table"),
            word("no_total", "column(…).no_total()", "no sum below the table"),
            word("running", "column(…).running()", "each row adds to those above it"),
            word(
                "hidden",
                "column(…).hidden()",
                "not shown, but read by scripts; it may hold lists and records; of a table too",
            ),
            word(
                "only_if_rows",
                "table(…).only_if_rows()",
                "a table that is left out where it has no rows",
            ),
            word("shown", "column(…).shown()", "shown again"),
            word("only_if_rows", "table(…).only_if_rows()", "left out where it has no rows"),
            word(
                "note",
                "column(…).note(\"text\")",
                "a note on the heading; of a table, below its title",
            ),
            word("format", "column(…).format(\"0.00\")", "a number format in place of the unit's"),
            word("title", "column(…).title(\"Heading\")", "another heading"),
            word("unit", "column(…).unit(\"lb\")", "another unit"),
            word("after", "column(…).after(\"key\")", "placed behind another column"),
            word("before", "column(…).before(\"key\")", "placed before another column"),
            word(
                "chart",
                "chart(\"Title\", \"table\", \"category\", \"value\")",
                "a column chart of a table's column, added up by another",
            ),
        ],
    },
    Group {
        title: "Defining checks",
        words: &[
            word(
                "check",
                "check(\"code\", \"error, warning or note\", |job| rows, |row| text)",
                "a text is a finding, blank is none",
            ),
            word(
                "at",
                "check(…).at(\"field\")",
                "the field whose cell the finding names; a row that the check makes may name it as `at`",
            ),
            word("hint", "check(…).hint(\"text\")", "what to do about it"),
        ],
    },
    Group {
        title: "The job",
        words: &[
            word(
                "bays",
                "job.bays",
                "the rows of the Bays sheet; every other sheet likewise by its name: `job.levels`, `job.pours`",
            ),
            word("decks", "job.decks", "the decks, each with its `bays`"),
            word("head", "job.head", "the Job sheet as a record"),
            word("table", "job.table(\"key\")", "the rows of a finished table"),
            word(
                "value",
                "job.value(\"key\")",
                "an entry of the Job sheet, blank where it is not there",
            ),
        ],
    },
    Group {
        title: "Rows",
        words: &[
            word("len", "rows.len", "how many there are"),
            word("is_empty", "rows.is_empty()", "whether there are none"),
            word("first", "rows.first", "the first row, blank where there is none"),
            word("has", "row.has(\"field\")", "whether a row has a field of that name"),
            word(
                "has_error",
                "rows.has_error(\"field\")",
                "whether a cell of a finished table could not be computed, in one row or in some",
            ),
            word(
                "without_errors",
                "rows.without_errors(\"field\")",
                "those whose cell could be computed",
            ),
            word("filter", "rows.filter(|row| true)", "those for which the function gives true"),
            word("map", "rows.map(|row| value)", "a list of what the function gives for each"),
            word(
                "flat_map",
                "rows.flat_map(|row| [#{ row: row }])",
                "all rows of the lists that the function gives for each",
            ),
            word(
                "numbered",
                "rows.numbered(\"n\", [\"within\"], [\"by\"])",
                "each row with a number in a field of its own: equal `by`, equal number, from 1 within equal `within`",
            ),
            word("as_rows", "[#{ a: 1 }].as_rows()", "a list of maps as rows"),
            word("sum", "rows.sum(\"field\")", "the field added up; blank counts nothing"),
            word("max", "rows.max(\"field\")", "the greatest number or latest date"),
            word("min", "rows.min(\"field\")", "the least number or earliest date"),
            word("unique", "rows.unique(\"field\")", "a list of the field's values, each once"),
            word("where", "rows.where(\"field\", value)", "those whose field equals a value"),
            word(
                "find",
                "rows.find(\"field\", value)",
                "the first of those, blank where there is none",
            ),
            word(
                "group",
                "rows.group([\"field\"])",
                "one row for each set of equal fields, with its `rows`",
            ),
            word("group_rows", "list.group_rows([\"field\"])", "the same for a list of maps"),
            word(
                "flat_map",
                "rows.flat_map(|row| rows)",
                "the rows that the function gives for each, in one",
            ),
            word("as_rows", "list.as_rows()", "a list of maps as rows"),
            word(
                "numbered",
                "rows.numbered(\"n\", [\"within\"], [\"by\"])",
                "each row with a number in the field `n`: equal in `by` is the same number, counted from 1 within equal `within`",
            ),
            word(
                "sort",
                "rows.sort([\"field\", \"-other\"])",
                "in the order of the fields; `-` sorts the other way",
            ),
        ],
    },
    Group {
        title: "Records and dates",
        words: &[
            word("contains", "record.contains(\"field\")", "whether a record has a field"),
            word(
                "year",
                "date.year",
                "the year of a date; `month`, `day` likewise; dates are compared and subtracted, days added",
            ),
            word("month", "date.month", "the month of a date"),
            word("day", "date.day", "the day of a date"),
        ],
    },
    Group {
        title: "Tests",
        words: &[
            word("check_equal", "check_equal(found, wanted)", "fails where the two differ"),
            word(
                "check_near",
                "check_near(found, wanted, tolerance)",
                "fails where two numbers are further apart",
            ),
            word("check_true", "check_true(found)", "fails where it is not true"),
            word(
                "check_throws",
                "check_throws(|| value, \"part of the message\")",
                "fails where the function gives a value, or its message lacks the part",
            ),
            word(
                "job_of",
                "job_of([#{ Spans: \"3@10'\", Width: \"30'\" }])",
                "a job of bays made in the test, each by the headings of the Bays sheet; what is left out is that of an ordinary composite deck",
            ),
            word(
                "job_of",
                "job_of(#{ Types: [#{ … }], Bays: [#{ … }] })",
                "a job of whole sheets made in the test",
            ),
            word(
                "job_from",
                "job_from(\"schedule.xlsx\")",
                "a job read from a file of the shop's folder",
            ),
            word(
                "table",
                "job_of(…).table(\"takeoff\")",
                "the rows of a table computed for that job",
            ),
            word("bays", "job_of(…).bays", "its bays"),
            word("codes", "job_of(…).codes()", "the codes of all that was found, a list"),
            word(
                "messages",
                "job_of(…).messages(\"slab-too-thin\")",
                "what the findings of a code say, a list",
            ),
        ],
    },
];

/// How a word is written, for a message.
pub fn forms(name: &str) -> Option<String> {
    let forms: Vec<String> = GROUPS
        .iter()
        .flat_map(|group| group.words)
        .filter(|word| word.name == name)
        .map(|word| format!("`{}`", word.form))
        .collect();
    (!forms.is_empty()).then(|| format!("it is written {}", forms.join(" or ")))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::GROUPS;
    use crate::rules::engine::{engine_functions, package_functions};

    /// Every function that this program gives scripts beside built-ins stands among the words, and
    /// every word of a call is a function.
    #[test]
    fn every_function_is_a_word() {
        let name = |functions: Vec<(String, usize)>| -> BTreeSet<String> {
            functions.into_iter().map(|(name, _)| name).collect()
        };
        let (all, packages) = (name(engine_functions()), name(package_functions()));
        let words: BTreeSet<&str> =
            GROUPS.iter().flat_map(|group| group.words).map(|word| word.name).collect();
        let is_name =
            |name: &&String| name.chars().all(|sign| sign.is_alphanumeric() || sign == '_');
        let own: Vec<&String> = all.difference(&packages).filter(is_name).collect();
        assert!(own.len() > 20, "{own:?}");
        for name in own {
            assert!(words.contains(name.as_str()) || name == "divided_by", "`{name}` is no word");
        }
        for word in GROUPS.iter().flat_map(|group| group.words) {
            let is_call = word.form.contains(&format!("{}(", word.name));
            assert!(!is_call || all.contains(word.name), "`{}` is no function", word.name);
        }
    }
}
