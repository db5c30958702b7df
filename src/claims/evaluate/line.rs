//! The line through the levels of sessions.

use super::{Evaluator, last_input};
use crate::claims::computation::{
    Computation, EarlyRounding, LineValue, Points, Selection, Side, Source, small,
};
use crate::claims::verdict::NoValue;
use crate::phase::{BlockName, Phase};
use crate::stats::{Undefined, regression};

impl Evaluator<'_> {
    pub(super) fn line(
        &mut self,
        c: &Computation,
        value: LineValue,
        points: Points,
    ) -> Result<f64, NoValue> {
        let (x, y) = self.points(c, points)?;
        if x.len() < 3 {
            return Err(NoValue::FewSessions(x.len()));
        }
        let line = regression::line(&x, &y)?;
        match value {
            LineValue::Slope => Ok(line.slope),
            LineValue::R => Ok(line.r.ok_or(Undefined::NoSpread)?),
            LineValue::R2 => match (c.early, line.r, line.r2) {
                (EarlyRounding::LastInputTo(_), Some(r), _) => Ok(last_input(c, r).powi(2)),
                (_, _, r2) => Ok(r2.ok_or(Undefined::NoSpread)?),
            },
        }
    }

    /// Session numbers and levels.
    pub(super) fn points(
        &mut self,
        c: &Computation,
        points: Points,
    ) -> Result<(Vec<f64>, Vec<f64>), NoValue> {
        let selection = self.selection(c.later.trials);
        let measure = selection.measure;
        let Source::Named(name) = selection.block else {
            return Err(NoValue::FewSessions(0));
        };
        let material = self.material();
        let phase = match name {
            BlockName::Phase(phase) => phase,
            BlockName::PracticeSession(_) => Phase::PRACTICE,
        };
        let mut sessions: Vec<(f64, Phase, usize)> = material
            .sessions(measure, name)
            .filter(|(_, session)| session.has_scores())
            .filter_map(|(place, session)| Some((f64::from(session.number?), phase, place)))
            .collect();
        if points == Points::WithTests {
            for block in material
                .measures
                .get(measure)
                .map(|measure| measure.phases.as_slice())
                .unwrap_or_default()
                .iter()
                .filter(|block| block.phase.kind.is_test())
            {
                for (place, session) in block.sessions.iter().enumerate() {
                    if let Some(number) = session.recorded_number
                        && session.has_scores()
                    {
                        sessions.push((f64::from(number), block.phase, place));
                    }
                }
            }
        }
        if points == Points::InOrder {
            for (place, session) in sessions.iter_mut().enumerate() {
                session.0 = (place + 1) as f64;
            }
        }
        let (mut x, mut y) = (
            Vec::with_capacity(sessions.len()),
            Vec::with_capacity(sessions.len()),
        );
        for (number, phase, place) in sessions {
            let side = Side {
                trials: self.gatherer.gather(Selection {
                    block: Source::SessionOf(phase, small(place)),
                    ..selection
                }),
                ..c.later
            };
            if points == Points::Trials {
                for value in &self.some(&side)?.values {
                    x.push(number);
                    y.push(*value);
                }
            } else {
                // A session of which a slip leaves nothing is no point.
                match self.level(c, &side) {
                    Ok(level) => {
                        x.push(number);
                        y.push(level);
                    }
                    Err(NoValue::NoScores(_)) => {}
                    Err(why) => return Err(why),
                }
            }
        }
        Ok((x, y))
    }
}
