//! Sums over long vectors, arranged so that a processor works on several entries at once.

/// Sum of the products of entries of two vectors of one length.
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    // Eight sums that need not wait for one another.
    let ((eights, last), (other_eights, other_last)) = (a.as_chunks::<8>(), b.as_chunks::<8>());
    let mut sums = [0.0; 8];
    for (x, y) in eights.iter().zip(other_eights) {
        for i in 0..8 {
            sums[i] += x[i] * y[i];
        }
    }
    sums.iter().sum::<f64>() + last.iter().zip(other_last).map(|(x, y)| x * y).sum::<f64>()
}

/// Adds vectors, each times its factor, to a vector of their length.
pub(crate) fn add_combination<'v>(to: &mut [f64], terms: impl Iterator<Item = (&'v Vec<f64>, f64)>) {
    let terms: Vec<(&[f64], f64)> = terms.map(|(vector, factor)| (&vector[..], factor)).collect();
    // Four at a time, as reading and writing `to` takes longer than the sums.
    let (fours, last) = terms.as_chunks::<4>();
    for [(a, ka), (b, kb), (c, kc), (d, kd)] in fours {
        for ((((sum, a), b), c), d) in to.iter_mut().zip(*a).zip(*b).zip(*c).zip(*d) {
            *sum += (ka * a + kb * b) + (kc * c + kd * d);
        }
    }
    for (vector, factor) in last {
        to.iter_mut().zip(*vector).for_each(|(sum, v)| *sum += factor * v);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_numbers_are_summed_exactly_at_every_length() {
        for length in 0..40_usize {
            let a: Vec<f64> = (0..length).map(|i| i as f64 - 7.0).collect();
            let b: Vec<f64> = (0..length).map(|i| (i * i % 13) as f64).collect();
            let expected: i64 = (0..length as i64).map(|i| (i - 7) * (i * i % 13)).sum();
            assert_eq!(dot(&a, &b), expected as f64);
        }
    }

    #[test]
    fn every_vector_counts_once_whatever_their_number() {
        for count in 0..10 {
            let vectors: Vec<Vec<f64>> = (0..count).map(|k| vec![f64::from(1 << k), 1.0, f64::from(k)]).collect();
            let mut sum = vec![0.5; 3];
            add_combination(&mut sum, vectors.iter().zip((0..count).map(|k| f64::from(k + 1))));
            let of = |entry: fn(i32) -> i32| 0.5 + f64::from((0..count).map(|k| (k + 1) * entry(k)).sum::<i32>());
            assert_eq!(sum, [of(|k| 1 << k), of(|_| 1), of(|k| k)]);
        }
    }
}
