//! Where a run of spans is cut: cases worked by hand, and random runs against trying every plan.

use baytally::deck::layout::along::{Along, AlongLimits, Cut, Line, Wish, lay_along};
use baytally::deck::layout::choices::OwnCut;
use baytally::deck::layout::ends::{Butted, End, Joint, Rounding, Slope};
use baytally::length::Length;
use proptest::prelude::*;

use super::{butted, eighth, ft, limits};

fn orders(along: &Along) -> Vec<Length> {
    along.panels.iter().map(|panel| panel.order).collect()
}

fn lay(line: &Line<'_>, limits: &AlongLimits<'_>) -> Vec<Length> {
    orders(&lay_along(line, limits).unwrap())
}

/// By hand: 40 + 40 + 20 has a panel on two spans, 40 + 30 + 30 has none.
#[test]
fn three_spans_are_preferred_to_two() {
    let spans = [ft(10, 0); 10];
    assert_eq!(lay(&butted(&spans), &limits(ft(40, 0))), [ft(40, 0), ft(30, 0), ft(30, 0)]);
}

/// By hand: 30 + 30 + 10 has a panel on a single span, 30 + 20 + 20 has none.
#[test]
fn no_single_span_while_another_plan_exists() {
    let spans = [ft(10, 0); 7];
    assert_eq!(lay(&butted(&spans), &limits(ft(33, 0))), [ft(30, 0), ft(20, 0), ft(20, 0)]);
}

/// By hand: 12 spaces of 5'-0" and 2 in beyond each end are 60'-4"; half is 30'-2", and a lap of
/// 2 in centred on the support gives each panel 1 in.
#[test]
fn lap_against_butt() {
    let spans = [ft(5, 0); 12];
    let ends = Line { start: End::Beyond(ft(0, 2)), far: End::Beyond(ft(0, 2)), ..butted(&spans) };
    let lapped = Line { joint: Joint::Lap(ft(0, 2)), ..ends };
    assert_eq!(lay(&lapped, &limits(ft(32, 0))), [ft(30, 3), ft(30, 3)]);
    assert_eq!(lay(&ends, &limits(ft(32, 0))), [ft(30, 2), ft(30, 2)]);
}

/// By hand: where the deck goes on, the end gains half a lap of 2 in like any other cut; a cut that
/// is butted although the others lap gives neither panel anything.
#[test]
fn ends_that_go_on_and_cuts_of_their_own() {
    let spans = [ft(10, 0); 6];
    let lapped = Line { joint: Joint::Lap(ft(0, 2)), far: End::Continues, ..butted(&spans) };
    assert_eq!(lay(&lapped, &limits(ft(32, 0))), [ft(30, 1), ft(30, 2)]);
    let butted_at_3 = Line { joints_at: &[(3, Joint::Butt)], ..lapped };
    assert_eq!(lay(&butted_at_3, &limits(ft(32, 0))), [ft(30, 0), ft(30, 1)]);
}

/// By hand: six panels of 29'-6 1/16" rounded up to 1/8 in would end 3/8 in long.
#[test]
fn butted_lines_do_not_grow() {
    let spans = [ft(29, 6) + Length::sixty_fourths(4); 6];
    for butted_by in [Butted::Down, Butted::Nearest] {
        let rounding = Rounding { butted: butted_by, ..eighth() };
        let line = Line { rounding, ..butted(&spans) };
        assert_eq!(lay(&line, &limits(ft(30, 0))), [ft(29, 6); 6]);
    }
}

/// By hand: three spans of 10'-0" and a cantilever of 3'-0" beyond the last support.
#[test]
fn a_cantilever_lengthens_the_last_panel() {
    let spans = [ft(10, 0); 3];
    let line = Line { far: End::Beyond(ft(3, 0)), ..butted(&spans) };
    assert_eq!(lay(&line, &limits(ft(40, 0))), [ft(33, 0)]);
}

/// By hand: 20'-0" at 2 in 12 is 240 in x sqrt(148/144) = 243.3105 in, down to 20'-3 1/4" butted.
#[test]
fn slope_lengthens() {
    let spans = [ft(10, 0); 2];
    let line = Line { slope: Slope { rise_in_12: ft(0, 2) }, ..butted(&spans) };
    let along = lay_along(&line, &limits(ft(40, 0))).unwrap();
    assert!((along.panels[0].exact.in_inches() - 243.3105).abs() < 0.00005);
    assert_eq!(orders(&along), [ft(20, 3) + Length::sixty_fourths(16)]);
}

/// Facts of the trade: 1/4 in 12 adds 0.02 %, 4 in 12 adds 5.4 %.
#[test]
fn slope_factors() {
    let factor = |rise| Slope { rise_in_12: rise }.along(ft(100, 0)).unwrap().in_feet() / 100.0;
    assert!((factor(Length::sixty_fourths(16)) - 1.000_217).abs() < 5e-7);
    assert!((factor(ft(0, 4)) - 1.054_093).abs() < 5e-7);
}

#[test]
fn wishes_by_another_order() {
    let spans = [ft(10, 0); 7];
    let wishes = [Wish::FewPanels, Wish::FewLengths];
    let limits = AlongLimits { wishes: &wishes, ..limits(ft(33, 0)) };
    assert_eq!(lay(&butted(&spans), &limits), [ft(30, 0), ft(30, 0), ft(10, 0)]);
}

#[test]
fn an_own_cut_wins_and_is_checked() {
    let spans = [ft(10, 0); 5];
    let cut = |parts| Line { cut: Some(Cut::Spans(parts)), ..butted(&spans) };
    let along = lay_along(&cut(&[4, 1]), &limits(ft(33, 0))).unwrap();
    assert_eq!(orders(&along), [ft(40, 0), ft(10, 0)]);
    assert_eq!(
        along.breaches,
        ["panel 1 of the cut is 40'-0\", over the longest panel of 33'-0\""]
    );
    let refusal = lay_along(&cut(&[3, 3]), &limits(ft(33, 0))).unwrap_err();
    assert_eq!(
        refusal.to_string(),
        "`cut` is 6 spans in 2 panels, wanted panels of 1 span or more that make up 5 spans"
    );
    let lengths = [ft(30, 0), ft(19, 6)];
    let line = Line { cut: Some(Cut::Lengths(&lengths)), ..butted(&spans) };
    let along = lay_along(&line, &limits(ft(33, 0))).unwrap();
    assert_eq!(orders(&along), lengths);
    assert_eq!(
        along.breaches,
        ["panel 2 of the cut is 19'-6\", 0'-6\" shorter than its supports ask for"]
    );
}

#[test]
fn refusals() {
    let text = |spans: &[Length], limits: &AlongLimits<'_>| {
        lay_along(&butted(spans), limits).unwrap_err().to_string()
    };
    assert_eq!(
        text(&[ft(10, 0), ft(45, 0)], &limits(ft(40, 0))),
        "`spans_ft[1]` is 45'-0\", wanted a span within the longest panel, 40'-0\""
    );
    assert_eq!(
        text(&[ft(5, 0)], &limits(ft(40, 0))),
        "`spans_ft` is 1 span, 5'-0\", wanted spans that can be cut at supports into panels of \
         6'-0\" to 40'-0\" and at most 100 spans each"
    );
    assert_eq!(
        text(&[ft(10, 0), -ft(1, 0)], &limits(ft(40, 0))),
        "`spans_ft[1]` is -1'-0\", wanted a length above 0 ft, up to 100,000 ft"
    );
    assert_eq!(
        text(&[], &limits(ft(40, 0))),
        "`spans_ft` is a list of 0, wanted a list of 1 to 10000 spans"
    );
}

/// Every way to cut, the best by the same wishes.
fn by_trying_all(line: &Line<'_>, limits: &AlongLimits<'_>) -> Option<(Vec<usize>, Vec<Length>)> {
    let count = line.spans.len();
    let mut best: Option<(Vec<usize>, Vec<Length>)> = None;
    for cuts in 0..1_u32 << (count - 1) {
        let mut parts = vec![1];
        for at in 0..count - 1 {
            if cuts >> at & 1 == 1 {
                parts.push(1);
            } else {
                *parts.last_mut().unwrap() += 1;
            }
        }
        let own = Line { cut: Some(Cut::Spans(&parts)), ..*line };
        let along = lay_along(&own, limits).unwrap();
        let over = |panel: &Length| *panel > limits.longest || *panel < limits.shortest;
        let exact = along.panels.iter().map(|panel| panel.exact);
        if !along.breaches.is_empty() || exact.into_iter().any(|length| over(&length)) {
            continue;
        }
        let orders = orders(&along);
        let mut different = orders.clone();
        different.sort();
        different.dedup();
        let cost = |wish: &Wish| match wish {
            Wish::FewSingles => parts.iter().filter(|part| **part == 1).count(),
            Wish::FewPanels => parts.len(),
            Wish::ThreeSpans => parts.iter().filter(|part| **part < 3).count(),
            Wish::FewLengths => different.len(),
        };
        let costs: Vec<usize> = limits.wishes.iter().map(cost).collect();
        let better = match &best {
            None => true,
            Some((known, than)) => costs < *known || (costs == *known && orders > *than),
        };
        if better {
            best = Some((costs, orders));
        }
    }
    best
}

fn wishes() -> impl Strategy<Value = Vec<Wish>> {
    Just(Wish::ALL.to_vec())
        .prop_shuffle()
        .prop_flat_map(|all| (0..=all.len()).prop_map(move |count| all[..count].to_vec()))
}

fn spans() -> impl Strategy<Value = Vec<Length>> {
    prop_oneof![
        prop::collection::vec(prop::sample::select(vec![ft(6, 0), ft(8, 0), ft(10, 0)]), 1..11),
        prop::collection::vec(
            (64_i64 * 12 * 3..64 * 12 * 14).prop_map(Length::sixty_fourths),
            1..10
        ),
    ]
}

proptest! {
    #[test]
    fn as_good_as_trying_all(
        spans in spans(),
        longest in 16_i64..45,
        most_spans in 1_usize..6,
        wishes in wishes(),
        lap in prop_oneof![Just(None), (1_i64..5).prop_map(Some)],
        far in -2_i64..3,
    ) {
        let joint = lap.map_or(Joint::Butt, |lap| Joint::Lap(ft(0, lap)));
        let line = Line { joint, far: End::Beyond(ft(far, 0)), ..butted(&spans) };
        let limits =
            AlongLimits { longest: ft(longest, 0), shortest: ft(6, 0), most_spans, wishes: &wishes };
        if let Ok(along) = lay_along(&line, &limits) {
            let (_, best) = by_trying_all(&line, &limits).unwrap();
            prop_assert_eq!(orders(&along), best);
            prop_assert!(along.proved);
            let laps: Length = (1..along.panels.len()).map(|_| ft(0, lap.unwrap_or(0))).sum();
            let exact: Length = along.panels.iter().map(|panel| panel.exact).sum();
            let line: Length = spans.iter().copied().sum();
            prop_assert_eq!(exact, line + ft(far, 0) + laps);
            for panel in &along.panels {
                prop_assert!((panel.exact - panel.order).abs() < eighth().step);
            }
        } else {
            prop_assert_eq!(by_trying_all(&line, &limits), None);
        }
    }

    #[test]
    fn nearest_never_grows(spans in spans(), sixty_fourths in 1_i64..40) {
        let rounding =
            Rounding { step: Length::sixty_fourths(sixty_fourths), butted: Butted::Nearest };
        let line = Line { rounding, ..butted(&spans) };
        if let Ok(along) = lay_along(&line, &limits(ft(30, 0))) {
            prop_assert!(orders(&along).into_iter().sum::<Length>() <= along.length);
            for panel in &along.panels {
                prop_assert!((panel.exact - panel.order).abs() < rounding.step);
                prop_assert!(panel.order <= ft(30, 0));
            }
        }
    }

    #[test]
    fn long_runs_stay_within_limits(
        pattern in prop::collection::vec(4_i64..14, 1..6),
        count in 100_usize..3_000,
    ) {
        let spans: Vec<Length> =
            pattern.iter().cycle().take(count).map(|feet| ft(*feet, 0)).collect();
        let along = lay_along(&butted(&spans), &limits(ft(40, 0))).unwrap();
        prop_assert_eq!(orders(&along).into_iter().sum::<Length>(), along.length);
        prop_assert!(along.panels.iter().all(|panel| panel.order <= ft(40, 0)));
    }
}

#[test]
fn end_conditions_as_typed() {
    let end = |text| End::parse("start_end", text).unwrap();
    assert_eq!(end("cl"), End::CentreLine);
    assert_eq!(end(""), End::CentreLine);
    assert_eq!(end("Cont"), End::Continues);
    assert_eq!(end("+2\""), End::Beyond(ft(0, 2)));
    assert_eq!(end("-4\""), End::Beyond(-ft(0, 4)));
    assert_eq!(end("+3'-0\""), End::Beyond(ft(3, 0)));
    assert_eq!(end("2"), End::Beyond(ft(0, 2)));
    assert_eq!(
        End::parse("start_end", "wall").unwrap_err().to_string(),
        "`start_end` is \"wall\", wanted `cl`, `cont`, or a length beyond (+2\") or short of \
         (-4\") the centre line"
    );
}

#[test]
fn own_cuts_as_typed() {
    let cut = |text| OwnCut::parse("cut", text).unwrap();
    assert_eq!(cut(" "), None);
    assert_eq!(cut("3+2"), Some(OwnCut::Spans(vec![3, 2])));
    assert_eq!(cut("2@3 + 2"), Some(OwnCut::Spans(vec![3, 3, 2])));
    let lengths = vec![ft(30, 0), ft(19, 6)];
    assert_eq!(cut("30'-0\" + 19'-6\""), Some(OwnCut::Lengths(lengths)));
    assert_eq!(
        OwnCut::parse("cut", "3 + 19'-6\"").unwrap_err().to_string(),
        "`cut` is \"3 + 19'-6\\\"\", wanted spans a panel (`3+2`) or the lengths of the panels \
         (`30'-0\" + 20'-0\"`)"
    );
}
