//! The schedule's sheets and columns: what may be typed where, under which headings, in which unit.
//!
//! This is the one place that knows them: the reader reads by it, the blank schedule is made from
//! it, `reference` prints it, and each column's key is the name that scripts read.

use crate::length::Unit;

/// What a column's cells hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    Text,
    /// One of these words, in any case.
    Choice(&'static [&'static str]),
    /// A whole number of at least this.
    Whole(i64),
    Number,
    /// A number above zero.
    Positive,
    /// Money; what is not above zero is asked about.
    Price,
    /// A rise in inches on 12 in of run: `0.25`, `1/4`, `3:12`, `2 %`.
    Slope,
    Date,
    YesNo,
    /// One length; the unit rules a bare number. Outside the usual range it is asked about.
    Length {
        bare: Unit,
        usual: (f64, f64),
    },
    /// A list with repeats: `3@10'-0"`.
    Lengths {
        bare: Unit,
        usual: (f64, f64),
    },
    /// A list with repeats and breaks: `2@31' | 2@31'`.
    Widths {
        bare: Unit,
        usual: (f64, f64),
    },
    /// A length or the word `none`.
    LengthOrNone {
        bare: Unit,
        usual: (f64, f64),
    },
    /// A value of whatever type the cell has, or an expression as text.
    Any,
}

/// A column of a sheet.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// The name that scripts read, with its unit: `slab_in`.
    pub key: &'static str,
    pub heading: &'static str,
    /// Other headings read as this one; compared without case, spaces and punctuation.
    pub synonyms: &'static [&'static str],
    pub kind: Kind,
    pub required: bool,
    pub about: &'static str,
}

/// A sheet of the schedule.
#[derive(Clone, Copy, Debug)]
pub struct Sheet {
    /// The name in the job: `bays`.
    pub key: &'static str,
    pub name: &'static str,
    pub synonyms: &'static [&'static str],
    pub about: &'static str,
    pub fields: &'static [Field],
    /// Whether the Types columns may stand on this sheet too, as overrides.
    pub takes_deck: bool,
}

const fn field(
    key: &'static str,
    heading: &'static str,
    synonyms: &'static [&'static str],
    kind: Kind,
    about: &'static str,
) -> Field {
    Field { key, heading, synonyms, kind, required: false, about }
}

const fn required(field: Field) -> Field {
    Field { required: true, ..field }
}

const fn inches(least: f64, most: f64) -> Kind {
    Kind::Length { bare: Unit::Inch, usual: (least, most) }
}

const fn feet(least: f64, most: f64) -> Kind {
    Kind::Length { bare: Unit::Foot, usual: (least, most) }
}

use Kind::{Any, Choice, Date, Number, Positive, Price, Slope, Text, Whole, YesNo};

const RUNS: Kind = Choice(&["E-W", "N-S"]);
const LEVEL: Field = field(
    "level",
    "Level",
    &["Floor", "Story", "Storey", "Lvl", "Flr"],
    Text,
    "The floor or roof.",
);
const SEQUENCE: Field = field(
    "sequence",
    "Sequence",
    &["Seq", "Erection sequence", "Zone"],
    Text,
    "The erection sequence; the level's where blank.",
);
const BAY: Field = field(
    "bay",
    "Bay",
    &["Mark", "Bay mark", "Area", "Bay no", "ID"],
    Text,
    "The mark of the decked area, unique on its level.",
);
const TYPE: Field = field(
    "type",
    "Type",
    &["Deck type", "Deck mark", "Deck"],
    Text,
    "The deck type as the drawings mark it.",
);
const NOTE: Field = field(
    "note",
    "Note",
    &["Notes", "Remark", "Remarks", "Comment", "Comments"],
    Text,
    "Free text.",
);
const ON_SITE: Field = field(
    "on_site",
    "On site",
    &["On site date", "Delivery", "Ship date", "Needed on site"],
    Date,
    "The day the deck is wanted on site.",
);
const USE: Field = field(
    "use",
    "Use",
    &["Deck use"],
    Choice(&["composite", "form", "roof"]),
    "composite, form or roof.",
);
const GRADE: Field =
    field("grade", "Grade", &["Steel grade", "Fy"], Text, "Steel grade: SS 40, SS 50.");
const SIDE_LAP: Field =
    field("side_lap", "Side lap", &["Sidelap"], Text, "Side lap: nested, interlocking …");
const OPTIONS: Field = field(
    "options",
    "Options",
    &["Option", "Vented", "Perforated"],
    Text,
    "Vented, perforated and the like.",
);
const X: Field =
    field("x_ft", "X", &["East", "X ft"], feet(-5_000.0, 5_000.0), "East on plan, ft.");
const Y: Field =
    field("y_ft", "Y", &["North", "Y ft"], feet(-5_000.0, 5_000.0), "North on plan, ft.");
const POUR: Field =
    field("pour", "Pour", &["Pour no", "Placement", "Pour mark"], Text, "The pour.");
const ITEM: Field = field("item", "Item", &["What", "Description"], Text, "What it is.");

/// The sheet of a blank schedule that is for its reader alone.
pub const READ_ME: &str = "Read me";

/// The heading under which what a deck's field comes from is stated: `Grade` for `fy_ksi`.
#[must_use]
pub fn heading_of_deck(field: &str) -> Option<&'static str> {
    let stated = match field {
        "fy_ksi" | "fu_ksi" => "grade",
        "thickness_in" => "gauge",
        "depth_in" | "pitch_in" | "top_flat_in" | "bottom_flat_in" => "profile",
        "coating_oz_ft2" => "finish",
        "unit_weight_pcf" | "strength_psi" => "mix",
        other => other,
    };
    DECK.iter().find(|field| field.key == stated).map(|field| field.heading)
}

/// The columns that spell out a deck: those of Types, allowed on Bays and as defaults on Job.
pub const DECK: &[Field] = &[
    USE,
    field(
        "profile",
        "Profile",
        &["Deck profile", "Section", "Deck section"],
        Text,
        "Depth x pitch in inches: 3x12, 1.5x6 inverted.",
    ),
    field(
        "cover_in",
        "Cover",
        &["Cover width", "Coverage", "Panel width", "Sheet width"],
        inches(12.0, 48.0),
        "Width one panel covers, in; the catalogue's where blank.",
    ),
    field("gauge", "Gauge", &["Ga", "Gage"], Text, "Sheet-metal gauge: 22, 20, 18, 16."),
    GRADE,
    field("finish", "Finish", &["Coating", "Galvanizing", "Galv"], Text, "G60, G90, painted …"),
    field(
        "slab_in",
        "Slab",
        &["Slab thickness", "Total slab", "Slab depth", "Total thickness"],
        Kind::LengthOrNone { bare: Unit::Inch, usual: (1.5, 12.0) },
        "Total slab from the bottom of the flutes to the top, in, or none.",
    ),
    field("mix", "Mix", &["Concrete", "Concrete mix", "Mix mark"], Text, "The concrete."),
    field(
        "mesh",
        "Mesh",
        &["WWR", "WWF", "Wire mesh", "Reinforcement"],
        Text,
        "Welded wire reinforcement: 6x6-W1.4xW1.4.",
    ),
    field("shored", "Shored", &["Shoring", "Shore"], YesNo, "Whether the deck is shored."),
    field(
        "fastening",
        "Fastening",
        &["Attachment", "Fasteners", "Support fastening"],
        Text,
        "Support fastening pattern: 36/4.",
    ),
    SIDE_LAP,
    field(
        "stud_in",
        "Stud length",
        &["Stud", "Headed stud"],
        inches(2.0, 10.0),
        "Length of headed studs before welding, in.",
    ),
    OPTIONS,
];

/// What people write over the two columns of the Job sheet.
pub const KEY_HEADINGS: &[&str] =
    &["Key", "Keys", "Item", "Field", "Name", "Setting", "What", "Heading", "Description", "Label"];
pub const VALUE_HEADINGS: &[&str] =
    &["Value", "Values", "Entry", "Setting", "Data", "Answer", "Content", "Text", "Information"];

/// The sheets of a schedule, in the order of the blank one.
pub const SHEETS: &[Sheet] = &[
    Sheet {
        key: "head",
        name: "Job",
        synonyms: &["Project", "Header"],
        about: "A key and its value a row; any column of Bays or Types may be given a default here.",
        takes_deck: true,
        fields: &[
            field("job", "Job", &["Project", "Job name", "Project name"], Text, "The job's name."),
            field(
                "number",
                "Number",
                &["Job number", "Job no", "Project number", "Project no"],
                Text,
                "The job's number.",
            ),
            field("place", "Place", &["Location", "Address", "Site"], Text, "Where it is built."),
            field("estimator", "Estimator", &["By", "Taken off by"], Text, "Who took it off."),
            field("customer", "Customer", &["Client", "Contractor", "Sold to"], Text, "For whom."),
            field(
                "order_number",
                "Order number",
                &["PO", "PO number", "PO no", "Order no", "Purchase order"],
                Text,
                "The order's number, for its forms.",
            ),
            field(
                "ship_to",
                "Ship to",
                &["Deliver to", "Delivery address"],
                Text,
                "Where the deck is delivered, for the order's forms.",
            ),
            field(
                "contact",
                "Contact",
                &["Site contact", "Contact on site"],
                Text,
                "Who is asked about the order, for its forms.",
            ),
            field(
                "start_date",
                "Start date",
                &["Start", "First pour", "Start of pours"],
                Date,
                "The first day on which concrete may be placed.",
            ),
            field("quote_date", "Quote date", &["Date of quote"], Date, "The day of the quote."),
            field("sequence", "Sequence", &["Seq"], Text, "Default sequence."),
            field("runs", "Runs", &["Direction"], RUNS, "Default direction of the flutes."),
            field("start_end", "Start end", &[], Text, "Default condition of the start end."),
            field("far_end", "Far end", &[], Text, "Default condition of the far end."),
        ],
    },
    Sheet {
        key: "types",
        name: "Types",
        synonyms: &["Deck types", "Deck schedule"],
        about: "A deck type as the drawings mark it.",
        takes_deck: true,
        fields: &[required(TYPE), NOTE],
    },
    Sheet {
        key: "levels",
        name: "Levels",
        synonyms: &["Floors", "Stories"],
        about: "A floor or roof, in erection order.",
        takes_deck: false,
        fields: &[
            required(LEVEL),
            field(
                "like",
                "Like",
                &["Same as", "Typical of"],
                Text,
                "The level whose bays this one has too.",
            ),
            field(
                "elevation_ft",
                "Elevation",
                &["Elev", "TOS", "El"],
                feet(-200.0, 3_000.0),
                "Height, ft.",
            ),
            field("runs", "Runs", &["Direction"], RUNS, "Direction of the flutes."),
            SEQUENCE,
            ON_SITE,
            NOTE,
        ],
    },
    Sheet {
        key: "sequences",
        name: "Sequences",
        synonyms: &["Erection sequences"],
        about: "An erection sequence: what the crane takes as one zone.",
        takes_deck: false,
        fields: &[
            required(SEQUENCE),
            field("order", "Order", &["Erection order", "No"], Whole(0), "Its place in the order."),
            ON_SITE,
            field(
                "crane_limit_lb",
                "Crane limit",
                &["Crane limit lb", "Pick limit", "Max pick"],
                Number,
                "Heaviest lift, lb.",
            ),
            field(
                "longest_lift_ft",
                "Longest lift",
                &["Max lift length"],
                feet(6.0, 60.0),
                "Longest bundle the crane can land, ft.",
            ),
            field(
                "drop_point",
                "Drop point",
                &["Shakeout", "Laydown"],
                Text,
                "Where it is set down.",
            ),
            NOTE,
        ],
    },
    Sheet {
        key: "bays",
        name: "Bays",
        synonyms: &["Bay schedule", "Schedule", "Deck bays", "Areas"],
        about: "A decked area of one type whose panels all run one way.",
        takes_deck: true,
        fields: &[
            required(LEVEL),
            required(BAY),
            TYPE,
            SEQUENCE,
            field(
                "runs",
                "Runs",
                &["Direction", "Deck direction", "Span direction"],
                RUNS,
                "Which way the flutes go: E-W or N-S.",
            ),
            required(field(
                "spans_ft",
                "Spans",
                &["Span", "Spans along", "Beam spacing"],
                Kind::Lengths { bare: Unit::Foot, usual: (1.0, 45.0) },
                "Spans along the flutes: 3@10'-0\".",
            )),
            required(field(
                "widths_ft",
                "Width",
                &["Widths", "Width across", "Bay width", "Across ft"],
                Kind::Widths { bare: Unit::Foot, usual: (1.0, 500.0) },
                "Width across the flutes; a list is one strip, | where a panel edge must break.",
            )),
            field(
                "copies",
                "Copies",
                &[
                    "Qty",
                    "Quantity",
                    "No of",
                    "Count",
                    "Times",
                    "Multiplier",
                    "Mult",
                    "No reqd",
                    "No required",
                ],
                Whole(1),
                "Identical twins inside this level and sequence; 1 where blank.",
            ),
            field("strip", "Strip", &[], Text, "Rows whose deck runs on as one plan."),
            field("along", "Along", &[], Whole(1), "The row's place along its strip: 1, 2, 3."),
            field("across", "Across", &[], Whole(1), "The row's place across its strip: 1, 2, 3."),
            POUR,
            field(
                "cut",
                "Cut",
                &["Cuts", "Panel cuts"],
                Text,
                "The estimator's own cutting: spans a panel (3+2) or lengths.",
            ),
            field("start_end", "Start end", &[], Text, "cl, +2\", -4\" or cont."),
            field("far_end", "Far end", &["End"], Text, "cl, +2\", -4\" or cont."),
            field(
                "status",
                "Status",
                &[],
                Choice(&["take-off", "hold", "released", "shipped", "void"]),
                "take-off where blank; hold, released, shipped, void.",
            ),
            field("alternate", "Alternate", &["Alt"], Text, "Blank is the base bid."),
            field(
                "drawing",
                "Drawing",
                &["Dwg", "Sheet", "Sheet no", "Plan"],
                Text,
                "Where it was taken from.",
            ),
            field("support", "Support", &["Supports", "Framing"], Text, "What carries it."),
            field(
                "camber_in",
                "Camber",
                &["Beam camber"],
                inches(0.0, 6.0),
                "Camber of the beams, in; taken off their deflection.",
            ),
            field(
                "beam_deflection_in",
                "Beam deflection",
                &["Beam deflection under wet concrete"],
                inches(0.0, 4.0),
                "Greatest deflection of the beams under wet concrete, where the engineer gives it, in.",
            ),
            field(
                "girder_deflection_in",
                "Girder deflection",
                &["Girder deflection under wet concrete"],
                inches(0.0, 4.0),
                "Greatest deflection of the girders under wet concrete, where the engineer gives it, in.",
            ),
            field(
                "studs",
                "Studs",
                &[
                    "Stud count",
                    "Stud qty",
                    "No of studs",
                    "No studs",
                    "Number of studs",
                    "Headed studs",
                    "Shear studs",
                ],
                Whole(0),
                "Headed studs in the bay.",
            ),
            field(
                "slope",
                "Slope",
                &["Roof slope", "Pitch per ft"],
                Slope,
                "Rise in inches per foot along the flutes, roofs only: 1/4, 3:12, 2 %.",
            ),
            X,
            Y,
            NOTE,
        ],
    },
    Sheet {
        key: "outlines",
        name: "Outlines",
        synonyms: &["Outline"],
        about: "A corner of a bay that is no rectangle.",
        takes_deck: false,
        fields: &[required(LEVEL), required(BAY), required(X), required(Y)],
    },
    Sheet {
        key: "openings",
        name: "Openings",
        synonyms: &["Opening", "Holes"],
        about: "An opening in a bay.",
        takes_deck: false,
        fields: &[
            required(LEVEL),
            required(BAY),
            X,
            Y,
            field(
                "opening",
                "Opening",
                &["Opening mark", "Hole"],
                Text,
                "The mark of an opening that is no rectangle: a row for each corner, no Length and Width.",
            ),
            field("length_ft", "Length", &[], feet(0.1, 200.0), "East-west size, ft."),
            field("width_ft", "Width", &[], feet(0.1, 200.0), "North-south size, ft."),
            field(
                "along_ft",
                "Along",
                &["Along flutes"],
                feet(0.1, 200.0),
                "Size along the flutes, in place of Length and Width, ft.",
            ),
            field(
                "across_ft",
                "Across",
                &["Across flutes"],
                feet(0.1, 200.0),
                "Size across the flutes, ft.",
            ),
            field("framed", "Framed", &[], YesNo, "Whether it is framed all round."),
            NOTE,
        ],
    },
    Sheet {
        key: "edges",
        name: "Edges",
        synonyms: &["Slab edges", "Edge"],
        about: "A length of slab edge.",
        takes_deck: false,
        fields: &[
            required(LEVEL),
            SEQUENCE,
            required(field(
                "length_ft",
                "Length",
                &["Lineal feet", "LF"],
                feet(0.1, 5_000.0),
                "Length of edge, ft.",
            )),
            field(
                "runs",
                "Runs",
                &["Side"],
                Choice(&["along", "across", "skew"]),
                "along or across the flutes, or skew.",
            ),
            field(
                "overhang_in",
                "Overhang",
                &["Slab overhang"],
                inches(0.0, 24.0),
                "Slab beyond the support, in.",
            ),
            field(
                "slab_in",
                "Slab",
                &["Slab thickness"],
                inches(1.5, 12.0),
                "Slab at the edge, in.",
            ),
            field(
                "item",
                "Item",
                &["Pour stop", "Edge form", "Type"],
                Text,
                "edge form or bent plate.",
            ),
            field("gauge", "Gauge", &["Ga", "Gage"], Text, "Gauge of the edge form."),
            field("supplied_by", "Supplied by", &["By"], Text, "ours or others."),
            field("corners", "Corners", &[], Whole(0), "Corners in this length."),
            POUR,
            NOTE,
        ],
    },
    Sheet {
        key: "extra_concrete",
        name: "Extra concrete",
        synonyms: &["Concrete extras"],
        about: "A curb, pad, haunch, thickening, or a depression (negative).",
        takes_deck: false,
        fields: &[
            required(LEVEL),
            POUR,
            ITEM,
            required(field("length_ft", "Length", &[], feet(0.1, 2_000.0), "Length, ft.")),
            required(field("width_ft", "Width", &[], feet(0.1, 2_000.0), "Width, ft.")),
            required(field(
                "depth_in",
                "Depth",
                &["Thickness", "Height"],
                inches(-24.0, 48.0),
                "Depth, in; negative is a depression.",
            )),
            field("count", "Count", &["Qty", "Quantity"], Whole(1), "How many; 1 where blank."),
            field("mix", "Mix", &["Concrete"], Text, "The concrete; the pour's where blank."),
        ],
    },
    Sheet {
        key: "pieces",
        name: "Pieces",
        synonyms: &["Loose pieces", "Spares"],
        about: "Panels taken off by hand, spares.",
        takes_deck: false,
        fields: &[
            required(LEVEL),
            SEQUENCE,
            required(TYPE),
            required(field("count", "Count", &["Qty", "Quantity"], Whole(1), "How many.")),
            required(field("length_ft", "Length", &[], feet(1.0, 60.0), "Length of each, ft.")),
            field("mark", "Mark", &[], Text, "Their mark."),
            NOTE,
        ],
    },
    Sheet {
        key: "pours",
        name: "Pours",
        synonyms: &["Pour schedule", "Placements"],
        about: "A pour, in the order of placing.",
        takes_deck: false,
        fields: &[
            required(POUR),
            LEVEL,
            field("mix", "Mix", &["Concrete"], Text, "The concrete; the bays' where blank."),
            field("order", "Order", &["No"], Whole(0), "Its place in the order."),
            field(
                "earliest",
                "Earliest",
                &["Not before", "Earliest date"],
                Date,
                "No earlier than this day.",
            ),
            field(
                "after",
                "After",
                &["Predecessor", "Follows"],
                Text,
                "The pours that must be placed before, separated by commas.",
            ),
            field(
                "rate_yd3_h",
                "Rate",
                &["Placing rate", "Yd3 per hour"],
                Number,
                "Placing rate, yd3 an hour.",
            ),
            field(
                "start_time",
                "Start time",
                &["First truck"],
                Text,
                "Time of the first truck: 7:00.",
            ),
            NOTE,
        ],
    },
    Sheet {
        key: "mixes",
        name: "Mixes",
        synonyms: &["Concrete mixes"],
        about: "A concrete.",
        takes_deck: false,
        fields: &[
            required(field("mix", "Mix", &["Mark", "Concrete"], Text, "Its mark.")),
            field(
                "unit_weight_pcf",
                "Unit weight",
                &["Density", "Weight", "pcf"],
                Positive,
                "Wet unit weight, pcf.",
            ),
            field("strength_psi", "Strength", &["f'c", "Fc", "psi"], Positive, "f'c, psi."),
            field(
                "kind",
                "Kind",
                &["Type"],
                Choice(&["normal", "lightweight"]),
                "normal or lightweight.",
            ),
            NOTE,
        ],
    },
    Sheet {
        key: "stock",
        name: "Stock",
        synonyms: &["Stock lengths", "Yard stock"],
        about: "A stock length at hand.",
        takes_deck: false,
        fields: &[
            required(TYPE),
            required(field("length_ft", "Length", &[], feet(4.0, 60.0), "Stock length, ft.")),
            field(
                "available",
                "Available",
                &["Qty", "Count", "On hand"],
                Whole(0),
                "How many; blank is without limit.",
            ),
            field("ready", "Ready", &["Date", "Available from"], Date, "The day it can leave."),
            NOTE,
        ],
    },
    Sheet {
        key: "prices",
        name: "Prices",
        synonyms: &["Price list"],
        about: "A price and what it is for.",
        takes_deck: false,
        fields: &[
            required(ITEM),
            field("type", "Type", &["Deck type"], Text, "For this deck type."),
            field("profile", "Profile", &[], Text, "For this profile."),
            field("gauge", "Gauge", &["Ga", "Gage"], Text, "For this gauge."),
            field("finish", "Finish", &[], Text, "For this finish."),
            field("grade", "Grade", &[], Text, "For this grade."),
            field("level", "Level", &["Floor"], Text, "For this level."),
            field("mix", "Mix", &[], Text, "For this mix of concrete."),
            field("size", "Size", &[], Text, "For this size of an accessory."),
            field("alternate", "Alternate", &[], Text, "For this alternate."),
            field("price", "Price", &["Rate", "Unit price"], Price, "Money for one unit."),
            field(
                "per",
                "Per",
                &["Unit", "UOM"],
                Text,
                "lb, cwt, ton, square, ft2, panel, lf, yd3, load, each.",
            ),
            NOTE,
        ],
    },
    Sheet {
        key: "scope",
        name: "Scope",
        synonyms: &[],
        about: "What is ours and what is by others.",
        takes_deck: false,
        fields: &[
            required(ITEM),
            required(field("supplied_by", "Supplied by", &["By"], Text, "ours or others.")),
            NOTE,
        ],
    },
    Sheet {
        key: "releases",
        name: "Releases",
        synonyms: &["Released"],
        about: "What has gone to the mill or yard and is frozen.",
        takes_deck: false,
        fields: &[
            required(field("release", "Release", &["Release no"], Text, "Its name.")),
            field("date", "Date", &["Released on"], Date, "When it went."),
            SEQUENCE,
            required(TYPE),
            field("mark", "Mark", &[], Text, "The released mark."),
            required(field("count", "Count", &["Qty", "Quantity"], Whole(0), "How many.")),
            required(field("length_ft", "Length", &[], feet(1.0, 60.0), "Length of each, ft.")),
            field(
                "profile",
                "Profile",
                &[],
                Text,
                "The profile as released; the type's where blank.",
            ),
            field(
                "gauge",
                "Gauge",
                &["Ga", "Gage"],
                Text,
                "The gauge as released; the type's where blank.",
            ),
            field("finish", "Finish", &[], Text, "The finish as released; the type's where blank."),
            // Where rows of Bays state these otherwise than their type, so do the rows released.
            USE,
            GRADE,
            SIDE_LAP,
            OPTIONS,
            NOTE,
        ],
    },
    Sheet {
        key: "drawings",
        name: "Drawings",
        synonyms: &["Drawing list"],
        about: "A drawing or addendum the schedule was taken from.",
        takes_deck: false,
        fields: &[
            required(field(
                "drawing",
                "Drawing",
                &["Dwg", "Sheet", "Sheet no"],
                Text,
                "Its number.",
            )),
            field("title", "Title", &[], Text, "Its title."),
            field("revision", "Revision", &["Rev"], Text, "Its revision."),
            field("date", "Date", &["Dated"], Date, "Its date."),
            field("addendum", "Addendum", &[], Text, "The addendum that brought it."),
        ],
    },
    Sheet {
        key: "rules",
        name: "Rules",
        synonyms: &["Job rules"],
        about: "A rule's name and its value or expression for this job.",
        takes_deck: false,
        fields: &[
            required(field("rule", "Rule", &["Name"], Text, "The rule's name: concrete_waste.")),
            required(field("value", "Value", &["Expression"], Any, "A value or an expression.")),
            NOTE,
        ],
    },
    Sheet {
        key: "columns",
        name: "Columns",
        synonyms: &["Own columns"],
        about: "A column of the estimator's own.",
        takes_deck: false,
        fields: &[
            required(field("table", "Table", &[], Text, "The table's key: takeoff.")),
            required(field("key", "Key", &[], Text, "The column's name for scripts.")),
            field("heading", "Heading", &[], Text, "The column's heading."),
            field("unit", "Unit", &[], Text, "The column's unit."),
            required(field(
                "expression",
                "Expression",
                &["Formula"],
                Text,
                "What it computes, with `row` or the table's own name for the row.",
            )),
        ],
    },
];

/// The sheet of that key.
#[must_use]
pub fn sheet(key: &str) -> Option<&'static Sheet> {
    SHEETS.iter().find(|sheet| sheet.key == key)
}

impl Sheet {
    /// The sheet's own columns, then the deck's where the sheet takes them.
    pub fn all_fields(&self) -> impl Iterator<Item = &'static Field> {
        let deck: &'static [Field] = if self.takes_deck { DECK } else { &[] };
        self.fields.iter().chain(deck)
    }
}
