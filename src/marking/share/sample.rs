//! The second-marking sample: strata first, then at random within each marker until the rule is met, then whatever links all markers.

use super::linked::Links;
use super::{COMMON, Loads, ShareRules, Shared, ToShare, least_loaded};
use crate::stats::random::Stream;

/// Why a pair at the top level is drawn.
const AT_THE_TOP: &str = "evidence at the top level";

/// Draws the sample and names second markers; gives what could not be done, in sentences.
pub(super) fn draw_sample(
    pairs: &[ToShare],
    rules: &ShareRules,
    shared: &mut [Shared],
) -> Vec<String> {
    let mut drawing = Drawing::new(pairs, rules, shared);
    drawing.keep();
    drawing.common();
    drawing.strata();
    drawing.at_random();
    drawing.link();
    drawing.remarks
}

struct Drawing<'a> {
    pairs: &'a [ToShare],
    rules: &'a ShareRules,
    shared: &'a mut [Shared],
    loads: Loads<'a>,
    links: Links,
    remarks: Vec<String>,
}

impl<'a> Drawing<'a> {
    fn new(pairs: &'a [ToShare], rules: &'a ShareRules, shared: &'a mut [Shared]) -> Self {
        let firsts: Vec<String> = shared.iter().map(|one| one.first.clone()).collect();
        Self {
            pairs,
            rules,
            loads: rules.markers.iter().map(|m| (m.as_str(), 0.0)).collect(),
            links: Links::none(rules.markers.iter().chain(&firsts)),
            shared,
            remarks: Vec::new(),
        }
    }

    fn is_drawn(&self, index: usize) -> bool {
        self.shared
            .get(index)
            .is_some_and(|one| one.drawn.is_some())
    }

    fn sampled(&self) -> usize {
        self.shared
            .iter()
            .filter(|one| one.second.is_some())
            .count()
    }

    /// Puts a pair in the sample; false where nobody else may mark it.
    fn draw(&mut self, index: usize, second: Option<String>, why: &str) -> bool {
        let (Some(pair), Some(one)) = (self.pairs.get(index), self.shared.get_mut(index)) else {
            return false;
        };
        let first = one.first.clone();
        let free = |marker: &str| marker != first && pair.may(marker);
        let second = second
            // Whoever is not linked yet goes before whoever has least work.
            .or_else(|| {
                least_loaded(self.rules, &self.loads, |marker| {
                    free(marker) && !self.links.linked(&first, marker)
                })
            })
            .or_else(|| least_loaded(self.rules, &self.loads, free));
        let Some(second) = second else {
            return false;
        };
        if let Some(load) = self.loads.get_mut(second.as_str()) {
            *load += pair.work;
        }
        self.links.link(&first, &second);
        one.second = Some(second);
        one.drawn = Some(why.to_owned());
        true
    }

    /// What was drawn before stays drawn; the second marker too, where that still can be.
    fn keep(&mut self) {
        for (index, pair) in self.pairs.iter().enumerate() {
            let Some(second) = &pair.second else {
                continue;
            };
            let first = self.shared.get(index).map(|one| one.first.clone());
            let stays = pair.second_began
                || (self.rules.markers.contains(second)
                    && pair.may(second)
                    && first.as_ref() != Some(second));
            let why = pair.drawn.as_deref().unwrap_or("drawn before");
            self.draw(index, stays.then(|| second.clone()), why);
            if why == COMMON {
                self.link_all(index);
            }
        }
    }

    fn link_all(&mut self, index: usize) {
        let Some(pair) = self.pairs.get(index) else {
            return;
        };
        let markers: Vec<&String> = self.rules.markers.iter().filter(|m| pair.may(m)).collect();
        for two in markers.windows(2) {
            if let [a, b] = two {
                self.links.link(a, b);
            }
        }
    }

    /// The pairs that every marker marks: spread over what the evidence gives, and nobody's conflict.
    fn common(&mut self) {
        let there = self
            .shared
            .iter()
            .filter(|one| one.drawn.as_deref() == Some(COMMON))
            .count();
        let wanted = self.rules.common.saturating_sub(there);
        if wanted == 0 {
            return;
        }
        let everybody = |pair: &ToShare| self.rules.markers.iter().all(|marker| pair.may(marker));
        let mut open: Vec<usize> = self
            .pairs
            .iter()
            .enumerate()
            .filter(|(index, pair)| !self.is_drawn(*index) && everybody(pair))
            .map(|(index, _)| index)
            .collect();
        let evidence = |index: &usize| self.pairs.get(*index).and_then(|pair| pair.evidence);
        open.sort_by(|a, b| {
            let (a, b) = (evidence(a), evidence(b));
            a.is_none()
                .cmp(&b.is_none())
                .then(a.unwrap_or(0.0).total_cmp(&b.unwrap_or(0.0)))
        });
        let taken = wanted.min(open.len());
        // The middle of each of so many equal parts.
        let chosen: Vec<usize> = (0..taken)
            .filter_map(|part| open.get((2 * part + 1) * open.len() / (2 * taken)).copied())
            .collect();
        let mut done = 0;
        for index in chosen {
            if self.draw(index, None, COMMON) {
                self.link_all(index);
                done += 1;
            }
        }
        if done < wanted {
            self.remarks.push(format!(
                "only {done} of {wanted} pairs could be given to every marker: the others are too few, or in conflict with somebody"
            ));
        }
    }

    /// Everything under the pass mark, at the top, and near a boundary, by what the evidence gives.
    fn strata(&mut self) {
        let (mut left_out, mut at_the_top) = (0, 0);
        for index in 0..self.pairs.len() {
            if self.is_drawn(index) {
                continue;
            }
            let Some(why) = self.pairs.get(index).and_then(|pair| self.stratum(pair)) else {
                continue;
            };
            at_the_top += usize::from(why == AT_THE_TOP);
            if !self.draw(index, None, &why) {
                left_out += 1;
            }
        }
        self.nobody_else(left_out);
        // Where the sample must hold nearly all anyway, chance would draw them too.
        if 2 * at_the_top > self.pairs.len() && self.rules.sample < self.pairs.len() {
            self.remarks.push(format!(
                "{at_the_top} of {} pairs are drawn because their evidence is at the top level. To draw of them as of the others, begin with sample_top = \"by chance\" under [moderation] in cohort.toml; what is drawn once stays drawn",
                self.pairs.len()
            ));
        }
    }

    fn stratum(&self, pair: &ToShare) -> Option<String> {
        if self.rules.all_twice {
            return Some(String::from("every pair is marked twice"));
        }
        let evidence = pair.evidence?;
        let rules = self.rules;
        if rules.pass.is_some_and(|pass| evidence < pass - 1e-9) {
            return Some(String::from("evidence under the pass mark"));
        }
        // A single level holds everybody and is no top.
        if !rules.top_by_chance
            && rules.levels.len() > 1
            && rules
                .levels
                .first()
                .is_some_and(|top| evidence >= top - 1e-9)
        {
            return Some(String::from(AT_THE_TOP));
        }
        let near =
            |boundary: &f64| *boundary > 0.0 && (evidence - boundary).abs() <= rules.near + 1e-9;
        let mut boundaries = rules.levels.iter().chain(&rules.pass);
        boundaries
            .any(near)
            .then(|| String::from("evidence near a boundary"))
    }

    /// Marker by marker, whoever has least of their pairs in the sample next, until the rule is met.
    fn at_random(&mut self) {
        let mut order: Vec<usize> = (0..self.pairs.len()).collect();
        let count = order.len();
        Stream::new(self.rules.seed, "second-marking sample").choose(&mut order, count);
        let mut refused: Vec<usize> = Vec::new();
        while self.sampled() < self.rules.sample {
            let next = order
                .iter()
                .copied()
                .filter(|index| !self.is_drawn(*index) && !refused.contains(index))
                .min_by(|a, b| self.share_sampled(*a).total_cmp(&self.share_sampled(*b)));
            let Some(index) = next else {
                break;
            };
            if !self.draw(index, None, "at random") {
                refused.push(index);
            }
        }
        if self.sampled() < self.rules.sample.min(self.pairs.len()) {
            self.nobody_else(refused.len());
        }
    }

    /// The share of its first marker's pairs that is in the sample.
    fn share_sampled(&self, index: usize) -> f64 {
        let Some(first) = self.shared.get(index).map(|one| &one.first) else {
            return f64::INFINITY;
        };
        let own = self.shared.iter().filter(|one| one.first == *first);
        let (mut all, mut sampled) = (0_usize, 0_usize);
        for one in own {
            all += 1;
            sampled += usize::from(one.second.is_some());
        }
        sampled as f64 / all.max(1) as f64
    }

    /// Adds pairs until the pairs that markers share link all of them.
    fn link(&mut self) {
        while !self.links.all() {
            let found = (0..self.pairs.len())
                .filter(|index| !self.is_drawn(*index))
                .find_map(|index| {
                    let (pair, one) = (self.pairs.get(index)?, self.shared.get(index)?);
                    let other = self.rules.markers.iter().find(|marker| {
                        pair.may(marker)
                            && self.links.has(marker)
                            && !self.links.linked(&one.first, marker)
                    })?;
                    Some((index, other.clone()))
                });
            let Some((index, second)) = found else {
                self.remarks.push(String::from(
                    "the pairs marked twice don't link all markers, and no other pair could: severity can't be told between those that nothing links",
                ));
                return;
            };
            self.draw(index, Some(second), "links markers");
        }
    }

    fn nobody_else(&mut self, count: usize) {
        if count == 0 {
            return;
        }
        let says = if self.rules.markers.len() < 2 {
            String::from("there is one marker: nothing can be marked a second time")
        } else {
            format!(
                "{count} drawn for second marking could not be given to anybody: only the first marker may mark them"
            )
        };
        if !self.remarks.contains(&says) {
            self.remarks.push(says);
        }
    }
}
