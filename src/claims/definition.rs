//! What each statistic that a claim can name is by definition, as a computation.

use super::computation::{
    AgreementKind, Base, Centre, Computation, Design, Divisor, Formula, GainForm, LineValue,
    Points, Report, Selection, Side, Source, Spread, SpreadForm, Tails, Transform, Yardstick,
};
use super::material::{Material, Scale};
use super::verdict::NoValue;
use crate::logbook::model::{Better, Claim, ClaimMeasure, MeasureKind};
use crate::phase::{BlockName, Phase};
use crate::statistic::{Shape, Statistic};

/// The computation that a claim names.
///
/// # Errors
/// Why there is none: an unknown statistic, measure or phase, or a statistic that this measure can't have.
pub fn of_claim(claim: &Claim, material: &Material<'_>) -> Result<Computation<Selection>, NoValue> {
    let statistic = claim.statistic.ok_or(NoValue::UnknownStatistic)?;
    let measure = match claim.measure {
        ClaimMeasure::Known(measure) => measure,
        ClaimMeasure::Technique => material.technique_index(),
        ClaimMeasure::Unknown(_) => return Err(NoValue::UnknownMeasure),
    };
    let named =
        |phase: Option<BlockName>, missing: NoValue| phase.map(Source::Named).ok_or(missing);
    let later = match statistic.shape() {
        Shape::Agreement => match (claim.phase, &claim.phase_text) {
            (Some(phase), _) => Source::Named(phase),
            (None, None) => Source::AllTests,
            (None, Some(_)) => return Err(NoValue::UnknownPhase),
        },
        _ => named(claim.phase, NoValue::UnknownPhase)?,
    };
    let earlier = match statistic.shape() {
        Shape::Comparison => named(claim.versus, NoValue::UnknownEarlierPhase)?,
        Shape::Gain => Source::Named(BlockName::Phase(Phase::PRE)),
        _ => later,
    };
    let Some(scale) = material.scale(measure) else {
        return Err(match later {
            Source::Named(block) => NoValue::NoScores(block),
            _ => NoValue::NoTests,
        });
    };
    of_statistic(statistic, measure, later, earlier, scale)
}

/// A statistic of a measure's blocks.
///
/// # Errors
/// Why this measure can't have it.
pub fn of_statistic(
    statistic: Statistic,
    measure: usize,
    later: Source,
    earlier: Source,
    scale: &Scale,
) -> Result<Computation<Selection>, NoValue> {
    let block = Selection::of(measure, later);
    let plain = |formula| Ok(Computation::of_block(formula, block));
    match statistic.shape() {
        Shape::OneBlock => of_one_block(statistic, block, scale),
        Shape::Comparison => {
            let base = Selection::of(measure, earlier);
            Ok(of_comparison(statistic, block, base, scale))
        }
        Shape::Gain => {
            let of = comparable(scale);
            let side = |block| Side::mean_of(Selection::of(measure, block).taking(of));
            Ok(Computation {
                earlier: side(earlier),
                between: side(Source::Named(BlockName::Phase(Phase::POST))),
                ..Computation::of_block(Formula::Gain(GainForm::Kept), block.taking(of))
            })
        }
        Shape::PracticeLine => plain(Formula::Line(
            match statistic {
                Statistic::Slope => LineValue::Slope,
                Statistic::R => LineValue::R,
                _ => LineValue::R2,
            },
            Points::Sessions,
        )),
        Shape::Agreement => plain(Formula::Agreement(match statistic {
            Statistic::Agreement => AgreementKind::Percent,
            Statistic::Kappa => AgreementKind::Kappa,
            Statistic::WeightedKappa => AgreementKind::WeightedKappa,
            _ => AgreementKind::Icc,
        })),
    }
}

fn of_one_block(
    statistic: Statistic,
    block: Selection,
    scale: &Scale,
) -> Result<Computation<Selection>, NoValue> {
    let plain = |formula| Computation::of_block(formula, block);
    let taking = |of| Computation::of_block(Formula::Level, block.taking(of));
    let spread = |form| Computation {
        spread: Spread {
            divisor: Divisor::NMinusOne,
            form,
        },
        ..plain(Formula::Spread)
    };
    let centre = |centre| {
        let mut computation = plain(Formula::Level);
        computation.later.centre = centre;
        computation
    };
    let target = || scale.error_target.ok_or(NoValue::NoTarget);
    Ok(match statistic {
        Statistic::N => plain(Formula::Count),
        Statistic::Sum => centre(Centre::Sum),
        Statistic::Median => centre(Centre::Median),
        Statistic::Mode => centre(Centre::Mode(0)),
        Statistic::Minimum => plain(Formula::Smallest),
        Statistic::Maximum => plain(Formula::Largest),
        Statistic::Range => plain(Formula::Range),
        Statistic::Sd => spread(SpreadForm::Sd),
        Statistic::Variance => spread(SpreadForm::Variance),
        Statistic::Se => spread(SpreadForm::StandardError),
        Statistic::Cv => plain(Formula::RelativeSpread),
        Statistic::SuccessRate => {
            if scale.kind != MeasureKind::Success && scale.target.is_none() {
                return Err(NoValue::NoSuccess);
            }
            Computation::of_block(Formula::LevelInPercent, block.taking(Transform::Success))
        }
        Statistic::ConstantError | Statistic::VariableError if scale.kind == MeasureKind::Error => {
            return Err(NoValue::UnsignedErrors);
        }
        Statistic::ConstantError => {
            target()?;
            taking(Transform::Signed)
        }
        Statistic::AbsoluteError => {
            target()?;
            taking(Transform::Distance)
        }
        Statistic::VariableError => Computation {
            spread: Spread::POPULATION,
            ..plain(Formula::Spread)
        },
        Statistic::TotalError => {
            target()?;
            Computation::of_block(
                Formula::RootMeanSquare(Divisor::N),
                block.taking(Transform::Signed),
            )
        }
        Statistic::RadialError => taking(Transform::Radial),
        Statistic::CentroidError => {
            Computation::of_block(Formula::Centroid, block.taking(Transform::X))
        }
        Statistic::BivariateVariableError => Computation {
            spread: Spread::POPULATION,
            ..Computation::of_block(Formula::BivariateSpread, block.taking(Transform::X))
        },
        // The mean, and whatever is no statistic of one block.
        _ => plain(Formula::Level),
    })
}

fn of_comparison(
    statistic: Statistic,
    later: Selection,
    earlier: Selection,
    scale: &Scale,
) -> Computation<Selection> {
    let compared = |formula, of| Computation {
        earlier: Side::mean_of(earlier.taking(of)),
        ..Computation::of_block(formula, later.taking(of))
    };
    let recorded = |formula| compared(formula, Transform::AsRecorded);
    let higher_is_better = scale.better == Better::Higher;
    match statistic {
        Statistic::PercentChange => recorded(Formula::Percent(Base::Earlier)),
        Statistic::PercentImprovement => Computation {
            factor: if higher_is_better { 1.0 } else { -1.0 },
            ..compared(Formula::Percent(Base::Earlier), comparable(scale))
        },
        Statistic::D => recorded(Formula::Standardised(Yardstick::Pooled, false)),
        Statistic::G => recorded(Formula::Standardised(Yardstick::Pooled, true)),
        Statistic::GlassDelta => recorded(Formula::Standardised(Yardstick::Earlier, false)),
        Statistic::DPaired => recorded(Formula::Standardised(Yardstick::Differences, false)),
        Statistic::Nap | Statistic::Tau => compared(
            Formula::Nonoverlap {
                tau: statistic == Statistic::Tau,
                higher_is_better,
            },
            comparable(scale),
        ),
        Statistic::TPaired => recorded(Formula::TTest(Design::Paired, Report::Statistic)),
        Statistic::T => recorded(Formula::TTest(Design::Pooled, Report::Statistic)),
        Statistic::TWelch => recorded(Formula::TTest(Design::Welch, Report::Statistic)),
        Statistic::PTPaired => recorded(Formula::TTest(Design::Paired, Report::P(Tails::Two))),
        Statistic::PT => recorded(Formula::TTest(Design::Pooled, Report::P(Tails::Two))),
        Statistic::PTWelch => recorded(Formula::TTest(Design::Welch, Report::P(Tails::Two))),
        Statistic::U => recorded(Formula::MannWhitney(Report::Statistic)),
        Statistic::PU => recorded(Formula::MannWhitney(Report::P(Tails::Two))),
        Statistic::Wilcoxon => recorded(Formula::Wilcoxon(Report::Statistic)),
        Statistic::PWilcoxon => recorded(Formula::Wilcoxon(Report::P(Tails::Two))),
        // The change, and whatever is no comparison.
        _ => recorded(Formula::Change),
    }
}

/// What is compared for better and worse: the distance from the target where nearest is best, else the score itself.
fn comparable(scale: &Scale) -> Transform {
    if scale.better == Better::Target {
        Transform::Distance
    } else {
        Transform::AsRecorded
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One that was forgotten here would be taken for the mean, or for the change.
    #[test]
    fn no_two_statistics_are_defined_alike() {
        let errors = Scale {
            kind: MeasureKind::SignedError,
            better: Better::Target,
            lowest: None,
            highest: None,
            step: None,
            target: Some(0.0),
            error_target: Some(0.0),
        };
        let test = |phase| Source::Named(BlockName::Phase(phase));
        let mut defined = Vec::new();
        for statistic in Statistic::ALL {
            // The shares of a gain differ by their test alone.
            let later = match statistic {
                Statistic::TransferredGain => Phase::TRANSFER,
                _ => Phase::RETENTION,
            };
            let computation =
                of_statistic(*statistic, 0, test(later), test(Phase::PRE), &errors).unwrap();
            assert!(!defined.contains(&computation), "{statistic}");
            defined.push(computation);
        }
    }
}
