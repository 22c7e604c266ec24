//! Normal beliefs that learn from normal observations. What is observed, and how far one rug speaks for another, is the
//! caller's.

/// Observations with their covariance, ready to be asked about something that varies with them.
///
/// The posterior of a normal prior with normal observations: `E = kᵀC⁻¹y`, `V = v − kᵀC⁻¹k`, with `C` the observations'
/// covariance (prior and measurement together) and `k` their covariance with what is asked for. Source: Gelman et al.,
/// Bayesian Data Analysis, 3rd ed., §2.5 and §14.2 (from memory). For independent means of one variance it is the
/// shrinkage of B. Efron and C. Morris, J. Am. Stat. Assoc. 70 (1975) 311–319, with a prior variance that is stated
/// instead of estimated.
#[derive(Debug, Clone, PartialEq)]
pub struct Shrunk {
    /// The lower triangle of the Cholesky factor, row by row.
    factor: Vec<Vec<f64>>,
    /// `C⁻¹y`.
    weights: Vec<f64>,
}

impl Shrunk {
    /// From the covariance of the observations, of which the lower triangle is read, and how far each lies from its prior
    /// mean; nothing when the covariance isn't positive definite.
    pub fn of(mut covariance: Vec<Vec<f64>>, seen: &[f64]) -> Option<Self> {
        for i in 0..covariance.len() {
            let (above, rest) = covariance.split_at_mut(i);
            let row = &mut rest[0];
            for j in 0..i {
                let known: f64 = row[..j].iter().zip(&above[j][..j]).map(|(a, b)| a * b).sum();
                row[j] = (row[j] - known) / above[j][j];
            }
            let left = row[i] - row[..i].iter().map(|a| a * a).sum::<f64>();
            if left.is_nan() || left <= 0.0 {
                return None;
            }
            row[i] = left.sqrt();
            row.truncate(i + 1);
        }
        let mut shrunk = Self { factor: covariance, weights: Vec::new() };
        shrunk.weights = shrunk.back(shrunk.forward(seen));
        Some(shrunk)
    }

    /// The mean of what is asked for, from its covariance with each observation.
    pub fn mean(&self, with: &[f64]) -> f64 {
        with.iter().zip(&self.weights).map(|(a, b)| a * b).sum()
    }

    /// How much of the covariance of two things the observations explain, `kᵀC⁻¹l`.
    pub fn explained(&self, one: &[f64], other: &[f64]) -> f64 {
        self.forward(one).iter().zip(self.forward(other)).map(|(a, b)| a * b).sum()
    }

    fn forward(&self, right: &[f64]) -> Vec<f64> {
        let mut solved: Vec<f64> = Vec::with_capacity(right.len());
        for (row, right) in self.factor.iter().zip(right) {
            let known: f64 = row.iter().zip(&solved).map(|(a, b)| a * b).sum();
            solved.push((right - known) / row[solved.len()]);
        }
        solved
    }

    fn back(&self, mut right: Vec<f64>) -> Vec<f64> {
        for i in (0..right.len()).rev() {
            right[i] /= self.factor[i][i];
            for j in 0..i {
                right[j] -= self.factor[i][j] * right[i];
            }
        }
        right
    }
}
