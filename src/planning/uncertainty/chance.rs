//! The few special functions that chances need. What is a chance of what is for `pace`.

/// The ninth decile of the standard normal distribution.
pub const NINTH_DECILE: f64 = 1.281_551_565_544_600_4;

/// ln Γ(x) for x > 0, to about 14 digits: Stirling's series after shifting the argument beyond 10.
///
/// Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 6.1.41 (from memory; tests check factorials).
pub fn ln_gamma(x: f64) -> f64 {
    let (mut x, mut shift) = (x, 0.0);
    while x < 10.0 {
        shift += x.ln();
        x += 1.0;
    }
    let r = 1.0 / (x * x);
    let series = (1.0 / 12.0 - r * (1.0 / 360.0 - r * (1.0 / 1260.0 - r * (1.0 / 1680.0 - r / 1188.0)))) / x;
    (x - 0.5) * x.ln() - x + 0.5 * (2.0 * std::f64::consts::PI).ln() + series - shift
}

/// The chance that a Gamma(shape, 1) amount is at most `x`.
///
/// Source: Abramowitz & Stegun 6.5.29, the series; it converges for every x, and quickly for the sizes met here.
pub fn gamma_below(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let (mut term, mut sum, mut n) = (1.0 / shape, 1.0 / shape, shape);
    // Terms grow until n passes x and fall fast from there.
    while term > sum * 1e-16 || n < x {
        n += 1.0;
        term *= x / n;
        sum += term;
        if !sum.is_finite() {
            return 1.0;
        }
    }
    (sum.ln() + shape * x.ln() - x - ln_gamma(shape)).exp().min(1.0)
}

/// The regularised incomplete beta function `I_x(a, b)`: the chance that a Beta(a, b) share is at most `x`.
///
/// Source: the continued fraction of Abramowitz & Stegun 26.5.8, by Lentz's method.
pub fn beta_below(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    // The fraction converges quickly below the mean only.
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_below_mean(b, a, 1.0 - x);
    }
    beta_below_mean(a, b, x)
}

fn beta_below_mean(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut below = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let (mut above, mut fraction) = (1.0, below);
    for step in 1..10_000 {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let before = fraction;
        for coefficient in [even, odd] {
            below = 1.0 / away(1.0 + coefficient * below);
            above = away(1.0 + coefficient / above);
            fraction *= above * below;
        }
        if (fraction - before).abs() < 1e-15 * fraction.abs() {
            break;
        }
    }
    let front = ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (1.0 - x).ln();
    (front.exp() * fraction / a).clamp(0.0, 1.0)
}

/// The place where a rising function on `0..1` reaches `wanted`, by halving.
pub fn place_of(wanted: f64, rising: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if rising(middle) < wanted { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// The chance that a standard normal deviate is at most `z`.
pub fn normal_below(z: f64) -> f64 {
    let half = 0.5 * gamma_below(0.5, 0.5 * z * z);
    if z < 0.0 { 0.5 - half } else { 0.5 + half }
}

/// Deviates and weights that average a smooth function of a standard normal deviate: Gauss–Hermite with five points.
///
/// Source: Abramowitz & Stegun, table 25.10, for the weight exp(−x²); here z = √2·x.
pub const NORMAL_POINTS: [(f64, f64); 5] = [
    (-2.856_970_013_9, 0.011_257_411_33),
    (-1.355_626_180_0, 0.222_075_922_0),
    (0.0, 0.533_333_333_3),
    (1.355_626_180_0, 0.222_075_922_0),
    (2.856_970_013_9, 0.011_257_411_33),
];
