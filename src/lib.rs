//! From a cohort's logbooks to marks and comments.
//!
//! A lecturer's students work in pairs, a coach and a learner, on one motor skill for some weeks and hand in a logbook. This library reads the
//! logbooks, recomputes every number, says which claims don't follow from the trials and which slip explains each, sets the evidence
//! beside a rubric, and takes the markers' decisions back. The program suggests and shows; people decide.
//!
//! Data flows one way, and the modules stand in that order; none uses a later one:
//!
//! ```text
//! place, number      where a value stands; decimals as they were stated
//! configuration      TOML files that a course edits: every fault at once, at its line
//! thresholds         every number that a check uses
//! stats              pure mathematics: knows nothing of logbooks
//! logbook            one hand-in: files → grids → tables → typed logbook
//! cohort             settings, roster, which hand-in is whose
//! facts              what the trials give: blocks, statistics, named facts
//! claims             what the pair states: recomputed, and which slip explains a difference
//! expression         conditions over facts, in the Common Expression Language
//! judgement          stages of learning and theories: what the data can bear
//! checks             findings, one file a check
//! rubric             criteria, evidence, levels: suggestions
//! examination        one pair, and the cohort, the whole way so far
//! ledger             the append-only record of people's decisions
//! report             csv files, workbooks, pages, the terminal
//! marking            sharing out, taking back
//! moderation         agreement between markers, severity, proposals
//! hand_back          marks and feedback for the pairs
//! rehearsal          invented cohorts with known answers
//! commands           one file a command; only they see everything
//! ```

pub mod atomic;
pub mod configuration;
pub mod emphasis;
pub mod natural_order;
pub mod number;
pub mod phase;
pub mod place;
pub mod spreadsheet_text;
pub mod statistic;
pub mod thresholds;
pub mod wording;

pub mod stats;

pub mod logbook;

pub mod cohort;

pub mod facts;

pub mod claims;

pub mod expression;

pub mod judgement;

pub mod checks;

pub mod rubric;

pub mod examination;

pub mod ledger;

pub mod report;

pub mod marking;

pub mod moderation;

pub mod hand_back;

pub mod rehearsal;

pub mod cli;

pub mod commands;
