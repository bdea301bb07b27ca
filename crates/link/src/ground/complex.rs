//! Just enough of complex numbers.

use std::ops::{Add, Div, Mul, Sub};

/// A complex number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Complex {
    pub re: f64,
    pub im: f64,
}

impl Complex {
    pub(crate) const fn new(re: f64, im: f64) -> Complex {
        Complex { re, im }
    }

    /// Of magnitude 1, at this angle in radians.
    pub(crate) fn at(angle: f64) -> Complex {
        Complex::new(angle.cos(), angle.sin())
    }

    pub(crate) fn abs(self) -> f64 {
        self.re.hypot(self.im)
    }

    /// The angle, radians.
    pub(crate) fn arg(self) -> f64 {
        self.im.atan2(self.re)
    }

    /// The root with a real part that is not negative.
    pub(crate) fn sqrt(self) -> Complex {
        let size = self.abs();
        let re = f64::midpoint(size, self.re).max(0.0).sqrt();
        let im = f64::midpoint(size, -self.re).max(0.0).sqrt();
        Complex::new(re, im.copysign(self.im))
    }
}

impl Add for Complex {
    type Output = Complex;
    fn add(self, other: Complex) -> Complex {
        Complex::new(self.re + other.re, self.im + other.im)
    }
}

impl Sub for Complex {
    type Output = Complex;
    fn sub(self, other: Complex) -> Complex {
        Complex::new(self.re - other.re, self.im - other.im)
    }
}

impl Mul for Complex {
    type Output = Complex;
    fn mul(self, other: Complex) -> Complex {
        Complex::new(self.re * other.re - self.im * other.im, self.re * other.im + self.im * other.re)
    }
}

impl Mul<f64> for Complex {
    type Output = Complex;
    fn mul(self, times: f64) -> Complex {
        Complex::new(self.re * times, self.im * times)
    }
}

impl Div for Complex {
    type Output = Complex;
    fn div(self, other: Complex) -> Complex {
        let size = other.re * other.re + other.im * other.im;
        Complex::new(
            (self.re * other.re + self.im * other.im) / size,
            (self.im * other.re - self.re * other.im) / size,
        )
    }
}
