use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use serde::{Deserialize, Serialize};

/// Up to this many admissible placements are listed; of more, this many less one are drawn. Own.
const MOST_LISTED: usize = 10_000;
/// Draws after which a rule is held to admit nothing.
const MOST_DRAWS: usize = 200_000;

/// Where checks may lie: blocks of positions, one check a block.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Blocks {
    /// Positions of each block, rising. A position is the number of the first pass of a check.
    pub blocks: Vec<Vec<usize>>,
    /// Two checks begin at least this many passes apart.
    pub apart: usize,
    /// Seed of the draws.
    pub seed: u64,
}

/// The placements that the draw could have given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placements {
    /// Position of each check, one list a placement.
    pub each: Vec<Vec<usize>>,
    /// How many there are in all; more than `each` holds where they were drawn. `None` where nobody counted.
    pub in_all: Option<usize>,
}

impl Blocks {
    /// Whether a placement keeps the rule: one position of each block, far enough apart.
    #[must_use]
    pub fn admits(&self, placement: &[usize]) -> bool {
        placement.len() == self.blocks.len()
            && placement
                .iter()
                .zip(&self.blocks)
                .all(|(position, block)| block.contains(position))
            && placement
                .windows(2)
                .all(|pair| pair[0] + self.apart <= pair[1])
    }

    /// Draws the placement of the seed; `None` where no placement keeps the rule.
    #[must_use]
    pub fn draw(&self) -> Option<Vec<usize>> {
        self.draw_with(&mut ChaCha8Rng::seed_from_u64(self.seed))
    }

    /// One position of each block; the whole set again until it keeps the rule, so that every admissible set is equally likely.
    fn draw_with(&self, random: &mut ChaCha8Rng) -> Option<Vec<usize>> {
        if self.blocks.is_empty() || self.blocks.iter().any(Vec::is_empty) {
            return None;
        }
        let one = |random: &mut ChaCha8Rng| -> Vec<usize> {
            self.blocks
                .iter()
                .map(|block| block[random.random_range(0..block.len())])
                .collect()
        };
        (0..MOST_DRAWS)
            .map(|_| one(random))
            .find(|placement| self.admits(placement))
    }

    /// All admissible placements where they are few; else a draw of them. The true one is always among them, first.
    #[must_use]
    pub fn placements(&self, truth: &[usize]) -> Placements {
        let combinations = self
            .blocks
            .iter()
            .try_fold(1_usize, |all, block| all.checked_mul(block.len()));
        let mut each = vec![truth.to_vec()];
        match combinations {
            Some(few) if few <= MOST_LISTED => {
                let mut chosen = Vec::with_capacity(self.blocks.len());
                self.list(&mut chosen, truth, &mut each);
                let in_all = Some(each.len());
                Placements { each, in_all }
            }
            _ => {
                // Not the stream that drew the true placement.
                let mut random = ChaCha8Rng::seed_from_u64(self.seed);
                random.set_stream(1);
                while each.len() < MOST_LISTED {
                    let Some(placement) = self.draw_with(&mut random) else {
                        break;
                    };
                    each.push(placement);
                }
                Placements { each, in_all: None }
            }
        }
    }

    fn list(&self, chosen: &mut Vec<usize>, truth: &[usize], each: &mut Vec<Vec<usize>>) {
        let Some(block) = self.blocks.get(chosen.len()) else {
            if chosen.as_slice() != truth {
                each.push(chosen.clone());
            }
            return;
        };
        for &position in block {
            if chosen
                .last()
                .is_none_or(|last| last + self.apart <= position)
            {
                chosen.push(position);
                self.list(chosen, truth, each);
                chosen.pop();
            }
        }
    }
}
