//! `calc`: expressions given, and lines at the prompt.

use crate::support::program::Desk;

/// What comes of lines on standard input.
fn lines(input: &str) -> (Option<i32>, String, String) {
    let output = Desk::new().command().arg("calc").write_stdin(input).output().unwrap();
    (
        output.status.code(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

#[test]
fn expressions() {
    let desk = Desk::new();
    let calc = |expression: &str| {
        let output = desk.command().args(["calc", expression]).output().unwrap();
        (output.status.code(), String::from_utf8(output.stdout).unwrap())
    };
    assert_eq!(calc("7 / 2"), (Some(0), "3.5\n".to_owned()));
    assert_eq!(calc("deck::panels_across(124, 36)"), (Some(0), "42\n".to_owned()));
    assert_eq!(calc("length::text(24.5)"), (Some(0), "24'-6\"\n".to_owned()));
    assert_eq!(calc("truck_yd3() * 3"), (Some(0), "30\n".to_owned()));
    assert_eq!(calc("()"), (Some(0), "blank\n".to_owned()));
    assert_eq!(calc("1 +").0, Some(2));
}

#[test]
fn mistakes_are_marked() {
    let outcome = Desk::new().run("calc deck::panels_across(124,0)");
    outcome.says(
        2,
        "error[bad-argument]: in `deck::panels_across`: `cover_in` is 0, wanted a cover above 0 in\n  \
           |\n\
         1 | deck::panels_across(124,0)\n  \
           |                         ^",
    );
    let rule = Desk::new();
    rule.shop("rules.rhai", "fn ours(a) {\n    deck::panels_across(a, 0)\n}\n");
    rule.run("calc ours(1) --shop shop").says(
        2,
        "rules.rhai:2:28: error[bad-argument]: in `deck::panels_across`: `cover_in` is 0, wanted a cover above 0 in\n  \
           |\n\
         2 |     deck::panels_across(a, 0)\n  \
           |                            ^",
    );
}

#[test]
fn lines_are_answered_one_by_one() {
    let (code, out, err) =
        lines("2 + 3\nans * 2\nwidth = 31 * 4\nwidth == 124\ndeck::panels_across(width, 36)\n\n");
    assert_eq!((code, out.as_str(), err.as_str()), (Some(0), "5\n10\n124\ntrue\n42\n", ""));
    let (code, out, err) = lines("1 / 0\n2\nnothing\n");
    assert_eq!((code, out.as_str()), (Some(1), "2\n"));
    assert_eq!(
        err,
        "error[division-by-zero]: 1 is divided by zero\n  |\n1 | 1 / 0\n  |   ^\n\
         error[unknown-name]: nothing is called `nothing`\n  |\n1 | nothing\n  | ^\n"
    );
    let (code, out, _) = lines("? truck_yd3\n? concrete::yd3\n? nothing\n");
    assert_eq!(code, Some(1));
    assert!(out.starts_with("truck_yd3()\n"), "{out}");
    assert!(
        out.contains("concrete::yd3(ft3)\n") && out.ends_with("nothing is called so\n"),
        "{out}"
    );
}
