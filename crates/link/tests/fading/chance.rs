//! A small seeded source of chance for the simulations (xorshift64*, Marsaglia 2003 and Vigna 2016).

pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Chance {
        Chance(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// Between 0 and 1, never 0.
    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let bits = u32::try_from(self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 32).unwrap();
        (f64::from(bits) + 0.5) / 4_294_967_296.0
    }

    /// Two independent standard normal numbers (Box and Muller 1958).
    pub fn normals(&mut self) -> (f64, f64) {
        let (size, angle) = ((-2.0 * self.share().ln()).sqrt(), std::f64::consts::TAU * self.share());
        (size * angle.cos(), size * angle.sin())
    }
}
