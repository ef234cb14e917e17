//! The most valuable filling of one bar.

/// Steps of one filling: enough to prove nearly all of them, few enough that many can be asked for.
const MOST_STEPS: usize = 100_000;

/// The best filling found.
#[derive(Debug, Clone)]
pub(super) struct Filling {
    /// How many of each length; `None` where no filling is worth more than was asked for.
    pub(super) counts: Option<Vec<usize>>,
    /// No filling is worth more than this.
    pub(super) at_most: i64,
}

/// The most valuable choice of at most `most` pieces of each length within `room`, if it is worth more than `above`.
///
/// Branch and bound in the order of value per length, with the bound of a filling that may break pieces.
pub(super) fn fill(weights: &[i64], values: &[i64], most: &[usize], room: i64, above: i64) -> Filling {
    let mut order: Vec<usize> =
        (0..weights.len()).filter(|i| values[*i] > 0 && most[*i] > 0 && weights[*i] <= room).collect();
    // Value per length, compared without dividing.
    let density = |i: usize, j: usize| i128::from(values[i]) * i128::from(weights[j]);
    order.sort_by(|i, j| density(*j, *i).cmp(&density(*i, *j)).then(i.cmp(j)));
    let items = order.iter().map(|i| (weights[*i], values[*i], most[*i])).collect();
    let mut search =
        Search { items, best: above, found: None, chosen: vec![0; order.len()], steps: 0, left_out: false };
    let loosest = search.loose(0, room);
    search.go(0, room, 0);
    let at_most = if search.left_out { loosest.max(search.best) } else { search.best };
    let counts = search.found.map(|found| {
        let mut counts = vec![0; weights.len()];
        order.iter().zip(found).for_each(|(i, n)| counts[*i] = n);
        counts
    });
    Filling { counts, at_most }
}

struct Search {
    items: Vec<(i64, i64, usize)>,
    best: i64,
    found: Option<Vec<usize>>,
    chosen: Vec<usize>,
    steps: usize,
    left_out: bool,
}

impl Search {
    /// What `room` is worth at most when filled from the item at `from` on.
    fn loose(&self, from: usize, room: i64) -> i64 {
        self.items.get(from).map_or(0, |(w, v, _)| (i128::from(room) * i128::from(*v) / i128::from(*w)) as i64)
    }

    fn go(&mut self, at: usize, room: i64, value: i64) {
        if value > self.best {
            self.best = value;
            self.found = Some(self.chosen.clone());
        }
        if at == self.items.len() || value + self.loose(at, room) <= self.best {
            return;
        }
        self.steps += 1;
        if self.steps > MOST_STEPS {
            self.left_out = true;
            return;
        }
        let (weight, worth, most) = self.items[at];
        let mut count = most.min((room / weight) as usize);
        loop {
            let (left, now) = (room - weight * count as i64, value + worth * count as i64);
            // Fewer of these give way to less worthy ones: no better.
            if now + self.loose(at + 1, left) <= self.best {
                break;
            }
            self.chosen[at] = count;
            self.go(at + 1, left, now);
            if count == 0 {
                break;
            }
            count -= 1;
        }
        self.chosen[at] = 0;
    }
}
