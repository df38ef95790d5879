//! Continuous beams against printed coefficients and closed forms.

use baytally::deck::beam::{
    Influence, Line, Load, Loading, Pattern, Run, Solved, Standing, beam, beam_deflection_in,
    beam_worst,
};

use super::given::{near, printed, record};

/// Equal spans of 1 with EI 1 and one load of 1 on some of them.
fn equal(count: usize, loaded: &[usize], load: Load) -> Solved {
    let mut line = Line::new(&vec![1.0; count], 1.0);
    for span in loaded {
        line.spans[*span - 1].loads.push(load);
    }
    line.solve().unwrap()
}

struct Row {
    name: &'static str,
    solved: Solved,
    /// Greatest sagging moment by span from 1.
    sagging: &'static [(usize, f64, i32)],
    hogging: f64,
    reaction: f64,
    least_reaction: Option<f64>,
    shear: f64,
    deflection: f64,
}

/// Values: AISC Manual Tables 3-22 and 3-23 and ANSI/SDI C-2017 figure 1 with more digits by the
/// three-moment equation; support and span moments also in Civil Engineering Formulas, table 2.1.
#[test]
#[allow(clippy::too_many_lines, reason = "one table")]
fn coefficients_of_equal_spans() {
    const W: Load = Load::Uniform(1.0);
    const P: Load = Load::Point { at: 0.5, p: 1.0 };
    let rows = [
        Row {
            name: "1 span, w",
            solved: equal(1, &[1], W),
            sagging: &[(1, 0.1250, 4)],
            hogging: 0.0,
            reaction: 0.500,
            least_reaction: Some(0.500),
            shear: 0.500,
            deflection: 0.013021,
        },
        Row {
            name: "2 spans, w on both",
            solved: equal(2, &[1, 2], W),
            sagging: &[(1, 0.07031, 5)],
            hogging: 0.1250,
            reaction: 1.250,
            least_reaction: Some(0.375),
            shear: 0.625,
            deflection: 0.005416,
        },
        Row {
            name: "2 spans, w on one",
            solved: equal(2, &[1], W),
            sagging: &[(1, 0.09570, 5)],
            hogging: 0.0625,
            reaction: 0.625,
            least_reaction: Some(-0.0625),
            shear: 0.5625,
            deflection: 0.009151,
        },
        Row {
            name: "3 spans, w on all",
            solved: equal(3, &[1, 2, 3], W),
            sagging: &[(1, 0.0800, 4), (2, 0.0250, 4)],
            hogging: 0.1000,
            reaction: 1.100,
            least_reaction: Some(0.400),
            shear: 0.600,
            deflection: 0.006884,
        },
        Row {
            name: "3 spans, w on 1 and 2",
            solved: equal(3, &[1, 2], W),
            sagging: &[(1, 0.07347, 5), (2, 0.05347, 5)],
            hogging: 0.11667,
            reaction: 1.200,
            least_reaction: None,
            shear: 0.6167,
            deflection: 0.005900,
        },
        Row {
            name: "3 spans, w on 1 and 3",
            solved: equal(3, &[1, 3], W),
            sagging: &[(1, 0.10125, 5)],
            hogging: 0.0500,
            reaction: 0.550,
            least_reaction: None,
            shear: 0.550,
            deflection: 0.009917,
        },
        Row {
            name: "3 spans, w on 2",
            solved: equal(3, &[2], W),
            sagging: &[(2, 0.0750, 4)],
            hogging: 0.0500,
            reaction: 0.550,
            least_reaction: None,
            shear: 0.500,
            deflection: 0.006771,
        },
        Row {
            name: "3 spans, w on 1",
            solved: equal(3, &[1], W),
            sagging: &[(1, 0.09389, 5)],
            hogging: 0.06667,
            reaction: 0.650,
            least_reaction: None,
            shear: 0.5667,
            deflection: 0.008896,
        },
        Row {
            name: "4 spans, w on all",
            solved: equal(4, &[1, 2, 3, 4], W),
            sagging: &[(1, 0.07717, 5), (2, 0.03635, 5)],
            hogging: 0.10714,
            reaction: 1.1429,
            least_reaction: None,
            shear: 0.6071,
            deflection: 0.006460,
        },
        Row {
            name: "1 span, P",
            solved: equal(1, &[1], P),
            sagging: &[(1, 0.2500, 4)],
            hogging: 0.0,
            reaction: 0.500,
            least_reaction: Some(0.500),
            shear: 0.500,
            deflection: 0.020833,
        },
        Row {
            name: "2 spans, P on both",
            solved: equal(2, &[1, 2], P),
            sagging: &[(1, 0.15625, 5)],
            hogging: 0.1875,
            reaction: 1.375,
            least_reaction: None,
            shear: 0.6875,
            deflection: 0.009317,
        },
        Row {
            name: "2 spans, P on one",
            solved: equal(2, &[1], P),
            sagging: &[(1, 0.20313, 5)],
            hogging: 0.09375,
            reaction: 0.6875,
            least_reaction: Some(-0.09375),
            shear: 0.59375,
            deflection: 0.015012,
        },
        Row {
            name: "3 spans, P on all",
            solved: equal(3, &[1, 2, 3], P),
            sagging: &[(1, 0.1750, 4), (2, 0.1000, 4)],
            hogging: 0.1500,
            reaction: 1.150,
            least_reaction: None,
            shear: 0.650,
            deflection: 0.011573,
        },
        Row {
            name: "3 spans, P on 1",
            solved: equal(3, &[1], P),
            sagging: &[(1, 0.2000, 4)],
            hogging: 0.1000,
            reaction: 0.725,
            least_reaction: Some(-0.150),
            shear: 0.600,
            deflection: 0.014627,
        },
        Row {
            name: "3 spans, P on 2",
            solved: equal(3, &[2], P),
            sagging: &[(2, 0.1750, 4)],
            hogging: 0.0750,
            reaction: 0.575,
            least_reaction: Some(-0.075),
            shear: 0.500,
            deflection: 0.011458,
        },
        Row {
            name: "3 spans, P on 1 and 3",
            solved: equal(3, &[1, 3], P),
            sagging: &[(1, 0.2125, 4)],
            hogging: 0.0750,
            reaction: 0.575,
            least_reaction: None,
            shear: 0.575,
            deflection: 0.016169,
        },
        Row {
            name: "3 spans, P on 1 and 2",
            solved: equal(3, &[1, 2], P),
            sagging: &[(1, 0.1625, 4)],
            hogging: 0.1750,
            reaction: 1.300,
            least_reaction: None,
            shear: 0.675,
            deflection: 0.010065,
        },
    ];
    for row in &rows {
        println!("{}", row.name);
        let solved = &row.solved;
        for (span, value, digits) in row.sagging {
            printed(solved.spans[span - 1].greatest_moment().value, *value, *digits);
        }
        let least = solved.support_moments.iter().copied().fold(0.0, f64::min);
        printed(-least, row.hogging, 5);
        printed(solved.reactions.iter().copied().fold(0.0, f64::max), row.reaction, 4);
        if let Some(wanted) = row.least_reaction {
            printed(solved.reactions.iter().copied().fold(f64::MAX, f64::min), wanted, 5);
        }
        let shear = solved.spans.iter().map(Run::greatest_shear).fold(0.0, f64::max);
        printed(shear, row.shear, 4);
        let deflection =
            solved.spans.iter().map(|run| run.greatest_deflection().value).fold(0.0, f64::max);
        printed(deflection, row.deflection, 6);
    }
    assert_eq!(rows.len(), 17);
}

/// Three-moment equation, closed form: the centre of three equal spans.
#[test]
fn centre_span_deflection() {
    let solved = equal(3, &[1, 2, 3], Load::Uniform(1.0));
    printed(solved.spans[1].greatest_deflection().value, 0.000521, 6);
    assert!(solved.spans[1].least_deflection().value < 0.0);
}

/// Closed forms: mean over greatest deflection and mean deflection under uniform load.
#[test]
fn mean_deflections() {
    let ratio = |solved: &Solved| {
        solved.spans[0].mean_deflection() / solved.spans[0].greatest_deflection().value
    };
    let one = equal(1, &[1], Load::Uniform(1.0));
    printed(one.spans[0].mean_deflection(), 1.0 / 120.0, 12);
    printed(ratio(&one), 0.64, 12);
    let two = equal(2, &[1, 2], Load::Uniform(1.0));
    printed(two.spans[0].mean_deflection(), 0.003125, 9);
    printed(ratio(&two), 0.577, 3);
    let three = equal(3, &[1, 2, 3], Load::Uniform(1.0));
    let means: Vec<f64> = three.spans.iter().map(Run::mean_deflection).collect();
    printed(means[0], 0.004_167, 6);
    printed(means[1], 0.0, 9);
    printed(means.iter().sum::<f64>() / 3.0, 0.002778, 6);
    printed(ratio(&three), 0.605, 3);
}

fn moving(count: usize) -> baytally::deck::beam::Envelope {
    let loading = Loading {
        always: 0.0,
        patterned: 0.0,
        pattern: Pattern::Together,
        point: 1.0,
        standing: Standing::Anywhere,
    };
    Influence::new(&Line::new(&vec![1.0; count], 1.0)).unwrap().envelope(&loading)
}

/// Influence lines of two and three equal spans, closed form.
#[test]
fn a_point_load_anywhere() {
    let two = moving(2);
    printed(two.sagging[0].value, 0.20743, 5);
    printed(two.sagging[0].place, 0.432, 3);
    printed(two.sagging[1].place, 1.0 - 0.432, 3);
    printed(two.hogging[1], -0.09623, 5);
    printed(two.reactions[1], 1.0, 9);
    let three = moving(3);
    printed(three.sagging[0].value, 0.20492, 5);
    printed(three.sagging[0].place, 0.428, 3);
    printed(three.hogging[1], -0.10264, 5);
    // Mid span stays within 2.5 % of the worst place.
    assert!(three.sagging[0].value / 0.2 - 1.0 < 0.025);
    assert!(two.sagging[0].value / 0.20313 - 1.0 < 0.025);
}

fn patterned(count: usize, pattern: Pattern) -> baytally::deck::beam::Envelope {
    let loading =
        Loading { always: 0.0, patterned: 1.0, pattern, point: 0.0, standing: Standing::MidSpan };
    Influence::new(&Line::new(&vec![1.0; count], 1.0)).unwrap().envelope(&loading)
}

/// Three equal spans, one wet at a time: 0.094 (ANSI/SDI C-2017 figure 1); over a support the two
/// spans that meet there, 0.117.
#[test]
fn three_spans_one_wet_at_a_time() {
    let envelope = patterned(3, Pattern::OneSpan);
    printed(envelope.sagging[0].value, 0.094, 3);
    printed(envelope.sagging[1].value, 0.0750, 4);
    printed(-envelope.hogging[1], 0.117, 3);
    printed(envelope.reactions[1], 1.200, 3);
    printed(envelope.end_shears[0].1, 0.6167, 4);
}

/// Three equal spans, alternate ones wet: 0.101 (AISC Manual Table 3-22).
#[test]
fn three_spans_alternate_ones_wet() {
    let envelope = patterned(3, Pattern::Worst);
    printed(envelope.sagging[0].value, 0.101, 3);
    printed(envelope.sagging[1].value, 0.0750, 4);
    printed(-envelope.hogging[1], 0.117, 3);
    printed(envelope.least_reactions[0], -0.050, 4);
}

/// The worst pattern is the worst of every set of loaded spans, tried one by one at many places.
#[test]
fn worst_pattern_against_every_set() {
    let lengths = [9.0, 3.0, 12.0, 7.5];
    let envelope = Influence::new(&Line::new(&lengths, 1.0)).unwrap().envelope(&Loading {
        always: 0.4,
        patterned: 1.0,
        pattern: Pattern::Worst,
        point: 0.0,
        standing: Standing::MidSpan,
    });
    let mut sagging = [f64::MIN; 4];
    let mut hogging = [f64::MAX; 5];
    let mut reactions = [f64::MIN; 5];
    let mut shears = [0.0_f64; 4];
    for set in 0..16 {
        let mut line = Line::new(&lengths, 1.0);
        for (index, span) in line.spans.iter_mut().enumerate() {
            span.loads.push(Load::Uniform(if set >> index & 1 == 1 { 1.4 } else { 0.4 }));
        }
        let solved = line.solve().unwrap();
        for index in 0..4 {
            sagging[index] = sagging[index].max(solved.spans[index].greatest_moment().value);
            shears[index] = shears[index].max(solved.spans[index].start_shear());
        }
        for index in 0..5 {
            hogging[index] = hogging[index].min(solved.support_moments[index]);
            reactions[index] = reactions[index].max(solved.reactions[index]);
        }
    }
    for index in 0..4 {
        near(envelope.sagging[index].value, sagging[index], 1e-12);
        near(envelope.end_shears[index].0, shears[index], 1e-12);
    }
    for index in 1..4 {
        near(envelope.hogging[index], hogging[index], 1e-12);
        near(envelope.reactions[index], reactions[index], 1e-12);
    }
}

/// The worst place of a point load beside other loads is at least as bad as any place tried, and
/// reached between two of them.
#[test]
fn worst_place_against_many_places() {
    let lengths = [8.0, 11.0];
    let envelope = Influence::new(&Line::new(&lengths, 1.0)).unwrap().envelope(&Loading {
        always: 30.0,
        patterned: 0.0,
        pattern: Pattern::Together,
        point: 150.0,
        standing: Standing::Anywhere,
    });
    let mut worst = [0.0_f64; 2];
    for step in 0..=2000 {
        for span in 0..2 {
            let at = lengths[span] * f64::from(step) / 2000.0;
            let mut line = Line::new(&lengths, 1.0);
            line.spans[0].loads.push(Load::Uniform(30.0));
            line.spans[1].loads.push(Load::Uniform(30.0));
            line.spans[span].loads.push(Load::Point { at, p: 150.0 });
            let moment = line.solve().unwrap().spans[span].greatest_moment().value;
            worst[span] = worst[span].max(moment);
        }
    }
    for span in 0..2 {
        let exact = envelope.sagging[span].value;
        assert!(exact >= worst[span] * (1.0 - 1e-12) && exact < worst[span] * (1.0 + 1e-5));
    }
}

/// Statics of an overhang: moment w a^2 / 2 + P a, and the tip drop of a cantilever with its
/// support held by a long stiff back span: w a^4 / 8EI + P a^3 / 3EI.
#[test]
fn overhangs() {
    let found = beam(record! {
        spans_ft: [10.0],
        start_overhang_ft: 2.0,
        end_overhang_ft: 3.0,
        start_overhang_plf: 60.0,
        end_overhang_plf: 60.0,
        end_tip_lb: 150.0,
        i_in4: 1.0,
    })
    .unwrap();
    printed(found.support_moments_ft_lb[0], -120.0, 9);
    printed(found.support_moments_ft_lb[1], -(270.0 + 450.0), 9);
    printed(found.reactions_lb.iter().sum::<f64>(), 60.0 * 5.0 + 150.0, 9);
    let ei = 29_500.0 * 1000.0 / 144.0;
    let slope = (10.0 / (6.0 * ei)) * (120.0 + 2.0 * 720.0);
    let tip = slope * 3.0 + 60.0 * 81.0 / (8.0 * ei) + 150.0 * 27.0 / (3.0 * ei);
    near(found.end_tip_in.unwrap(), 12.0 * tip, 1e-12);
    let slope = (10.0 / (6.0 * ei)) * (2.0 * 120.0 + 720.0);
    near(found.start_tip_in.unwrap(), 12.0 * (slope * 2.0 + 60.0 * 16.0 / (8.0 * ei)), 1e-12);
}

/// A uniform load cut into partial loads and laid on again acts the same.
#[test]
fn partial_loads_add_up() {
    let whole = beam(record! { spans_ft: [7.0, 9.0], uniform_plf: 40.0, i_in4: 0.3 }).unwrap();
    let piece = |span: i64, from: f64, to: f64| {
        record! { span: span, from_ft: from, to_ft: to, load_plf: 40.0 }
    };
    let cut = beam(record! {
        spans_ft: [7.0, 9.0],
        i_in4: 0.3,
        partials: [piece(1, 0.0, 2.5), piece(1, 2.5, 7.0), piece(2, 0.0, 8.0), piece(2, 8.0, 9.0)],
    })
    .unwrap();
    near(cut.support_moments_ft_lb[1], whole.support_moments_ft_lb[1], 1e-12);
    for span in 0..2 {
        near(cut.span_moments_ft_lb[span], whole.span_moments_ft_lb[span], 1e-12);
        let deflections = (cut.deflections_in.clone(), whole.deflections_in.clone());
        near(deflections.0.unwrap()[span], deflections.1.unwrap()[span], 1e-10);
    }
}

/// Coefficients 0.0069, 0.0054 and 5/384 on the decks of the worked cases.
#[test]
fn deflection_by_coefficient() {
    let deflection = |c, w, l, i| beam_deflection_in(c, w, l, 29_500.0, i).unwrap();
    printed(deflection(0.0069, 45.54, 12.0, 0.92), 0.415, 3);
    printed(deflection(0.0054, 49.83, 7.5, 0.33), 0.151, 3);
    printed(deflection(5.0 / 384.0, 45.54, 10.0, 0.92), 0.378, 3);
}

#[test]
fn refusals() {
    let message = |line| beam(line).unwrap_err().to_string();
    assert_eq!(
        message(record! { spans_ft: Vec::<f64>::new() }),
        "`line.spans_ft` is [], wanted a list of 1 to 50 spans in ft"
    );
    assert_eq!(
        message(record! { spans_ft: [10.0, -2.0] }),
        "`line.spans_ft[1]` is -2, wanted a span above 0 and up to 1000 ft"
    );
    assert_eq!(
        message(record! { uniform_plf: 3 }),
        "`line.spans_ft` is missing, wanted a list of spans in ft"
    );
    assert_eq!(
        message(record! { spans_ft: [10.0], unifrom_plf: 3 }),
        "`line.unifrom_plf` is 3, wanted no such field (did you mean `uniform_plf`?)"
    );
    assert_eq!(
        message(record! { spans_ft: [10.0], end_tip_lb: 150 }),
        "`line.end_tip_lb` is 150, wanted an overhang to stand on"
    );
    assert_eq!(
        message(record! {
            spans_ft: [10.0],
            points: [record! { span: i64::MIN, at_ft: 1, load_lb: 3 }],
        }),
        "`line.points[0].span` is -9223372036854775808, wanted a span from 1 to 1"
    );
    assert_eq!(
        message(record! { spans_ft: [10.0], points: [record! { span: 1, at_ft: 11, load_lb: 3 }] }),
        "`line.points[0].at_ft` is 11, wanted a place in the span from 0 to 10 ft"
    );
    assert_eq!(
        beam_worst(record! { spans_ft: [10.0], pattern: "all" }).unwrap_err().to_string(),
        "`line.pattern` is \"all\", wanted one of \"together\", \"one span\", \"worst\""
    );
}
