//! The invented course's target skills and how each is measured.

use crate::logbook::model::MeasureKind;

/// A target skill.
#[derive(Debug)]
pub struct Skill {
    /// Its name.
    pub name: &'static str,
    /// How it is measured; the first is the primary measure.
    pub measures: &'static [Measured],
    /// The task as practised and tested.
    pub condition: &'static str,
    /// The task of the transfer test.
    pub novel: &'static str,
    /// Elements of the technique checklist.
    pub elements: &'static [&'static str],
}

/// One measure of a skill, with how a learner's scores on it run.
#[derive(Debug)]
pub struct Measured {
    /// Its name.
    pub name: &'static str,
    /// What it measures.
    pub kind: MeasureKind,
    /// Its unit.
    pub unit: &'static str,
    /// `higher`, `lower` or `target`.
    pub better: &'static str,
    /// Ends of the scale.
    pub ends: (Option<f64>, Option<f64>),
    /// The step between two scores.
    pub step: Option<f64>,
    /// The target.
    pub target: Option<f64>,
    /// The mean score of somebody who begins, and of somebody who has practised for weeks.
    pub from_to: (f64, f64),
    /// Trial-to-trial standard deviation.
    pub spread: f64,
    /// Decimals that are recorded.
    pub decimals: u8,
    /// Landing points are recorded, and the score is their distance from the target.
    pub landing: bool,
}

const OPEN: (Option<f64>, Option<f64>) = (None, None);

/// The skills in turn.
pub const SKILLS: &[Skill] = &[
    Skill {
        name: "underarm bean-bag toss to a floor target",
        measures: &[
            Measured {
                name: "accuracy",
                kind: MeasureKind::Rating,
                unit: "points",
                better: "higher",
                ends: (Some(1.0), Some(4.0)),
                step: Some(1.0),
                target: None,
                from_to: (1.7, 3.1),
                spread: 0.6,
                decimals: 0,
                landing: false,
            },
            Measured {
                name: "distance",
                kind: MeasureKind::Error,
                unit: "cm",
                better: "lower",
                ends: (Some(0.0), None),
                step: None,
                target: None,
                from_to: (62.0, 27.0),
                spread: 9.0,
                decimals: 0,
                landing: false,
            },
        ],
        condition: "4 m, bean bag 150 g",
        novel: "6 m, bean bag 150 g",
        elements: &["stance", "swing", "release point", "follow-through"],
    },
    Skill {
        name: "three-ball cascade",
        measures: &[Measured {
            name: "catches",
            kind: MeasureKind::Count,
            unit: "catches",
            better: "higher",
            ends: (Some(0.0), Some(60.0)),
            step: Some(1.0),
            target: None,
            from_to: (14.0, 36.0),
            spread: 5.0,
            decimals: 0,
            landing: false,
        }],
        condition: "standing, beach-sand balls",
        novel: "kneeling, beach-sand balls",
        elements: &["scoop", "peak height", "crossing", "gaze"],
    },
    Skill {
        name: "backhand disc throw",
        measures: &[Measured {
            name: "landing",
            kind: MeasureKind::Error,
            unit: "m",
            better: "lower",
            ends: (Some(0.0), None),
            step: None,
            target: None,
            from_to: (4.2, 1.7),
            spread: 0.9,
            decimals: 1,
            landing: true,
        }],
        condition: "15 m, disc 175 g",
        novel: "20 m, disc 175 g",
        elements: &["grip", "reach back", "hip turn", "wrist snap"],
    },
    Skill {
        name: "slackline walk",
        measures: &[Measured {
            name: "time on the line",
            kind: MeasureKind::Quantity,
            unit: "s",
            better: "higher",
            ends: OPEN,
            step: None,
            target: None,
            from_to: (4.5, 13.0),
            spread: 2.0,
            decimals: 1,
            landing: false,
        }],
        condition: "5 m line, knee height",
        novel: "8 m line, knee height",
        elements: &["gaze", "knee bend", "arm balance"],
    },
    Skill {
        name: "lever positioning without sight",
        measures: &[Measured {
            name: "position",
            kind: MeasureKind::SignedError,
            unit: "degrees",
            better: "target",
            ends: OPEN,
            step: None,
            target: Some(0.0),
            from_to: (11.0, 2.5),
            spread: 2.4,
            decimals: 1,
            landing: false,
        }],
        condition: "60 degrees, preferred hand",
        novel: "85 degrees, preferred hand",
        elements: &["starting position", "speed", "stop"],
    },
    Skill {
        name: "ladder footwork run",
        measures: &[
            Measured {
                name: "run time",
                kind: MeasureKind::Quantity,
                unit: "s",
                better: "lower",
                ends: OPEN,
                step: None,
                target: None,
                from_to: (9.4, 6.3),
                spread: 0.6,
                decimals: 2,
                landing: false,
            },
            Measured {
                name: "clean run",
                kind: MeasureKind::Success,
                unit: "",
                better: "higher",
                ends: (Some(0.0), Some(1.0)),
                step: Some(1.0),
                target: None,
                from_to: (0.4, 0.6),
                spread: 0.0,
                decimals: 0,
                landing: false,
            },
        ],
        condition: "10 rungs, two-in",
        novel: "10 rungs, in-out",
        elements: &["foot placement", "arm drive", "head up"],
    },
];
