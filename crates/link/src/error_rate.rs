//! How often symbols, bits and packets are lost at a signal-to-noise ratio.
//!
//! Theory of an ideal receiver. A real one loses more; that is in [`crate::silicon`]'s noise
//! figures and in [`crate::css::required_snr`]. What reckons with levels takes
//! [`PacketCurve`], which has the theory's shape and the data sheets' place.

mod curve;
mod special;
mod table;

use units::Db;

pub use curve::PacketCurve;

use crate::bounds::{self, Bound, OutOfRange};
use crate::css::{Css, Interleaving};
use crate::mode::Modulation;

/// A signal-to-noise ratio.
pub const SNR: Bound = Bound { name: "snr_db", unit: "dB", low: -100.0, high: 100.0, why: "" };

/// A chance of a symbol error that is asked for.
pub const WANTED_SYMBOL_ERROR: Bound = Bound {
    name: "symbol_error",
    unit: "",
    low: 1e-12,
    high: 0.5,
    why: "from one in a million million to every second one",
};

/// A chance of a bit error before decoding.
const BIT_ERROR: Bound =
    Bound { name: "bit_error", unit: "", low: 0.0, high: 0.5, why: "a guess is right every second time" };

/// The chance that a chirp symbol is read wrong at `snr` in the signal's bandwidth, in
/// white noise.
///
/// Non-coherent orthogonal signalling with M = 2^SF and Es/N0 = M SNR:
/// integral of [1 - (1 - exp(-x^2/2))^(M-1)] p(x), p the Rice density with s^2 = 2 Es/N0
/// (Proakis, Digital Communications, 4th edition, 5.4; from memory). Integrated to about one
/// part in 10^8. 0 where it falls below what a number can hold.
///
/// # Errors
/// [`OutOfRange`] for a spreading factor outside 5 to 12, an SNR outside [`SNR`].
pub fn css_symbol_error(sf: u8, snr: Db) -> Result<f64, OutOfRange> {
    bounds::SPREADING.check(f64::from(sf))?;
    SNR.check(snr.0)?;
    let others = f64::from(sf).exp2() - 1.0;
    let signal = (2.0 * (others + 1.0) * snr.ratio()).sqrt();
    if signal > 54.0 {
        return Ok(0.0);
    }
    // The integrand peaks between signal / 2 and the signal and falls like a Gaussian of
    // unit width to both sides: the trapezoidal rule converges faster than any power.
    let step = 0.04;
    let low = (signal / 2.0 - 12.0).max(0.0);
    let integrand = |x: f64| {
        let misses = -(others * (-(-x * x / 2.0).exp()).ln_1p()).exp_m1();
        let distance = x - signal;
        misses * x * (-distance * distance / 2.0).exp() * special::bessel_i0_scaled(x * signal)
    };
    let mut sum = 0.0;
    let mut x = low + step;
    while x < signal + 12.0 {
        sum += integrand(x);
        x += step;
    }
    // Where it starts at 0 it rises as x exp(-s^2/2): the Euler-Maclaurin term of that.
    let start = if low > 0.0 { 0.0 } else { step * step / 12.0 * (-signal * signal / 2.0).exp() };
    Ok((sum * step + start).clamp(0.0, 1.0))
}

/// The chance of a bit error of a chirp symbol: Ps (M/2)/(M-1).
///
/// # Errors
/// As [`css_symbol_error`].
pub fn css_bit_error(sf: u8, snr: Db) -> Result<f64, OutOfRange> {
    Ok(css_symbol_error(sf, snr)? * bits_wrong(sf))
}

/// The part of its bits that a wrong symbol gets wrong, on average.
fn bits_wrong(sf: u8) -> f64 {
    let all = f64::from(sf).exp2();
    all / 2.0 / (all - 1.0)
}

/// The chance of a bit error by a closed form: 0.5 Q(sqrt(2^(SF+1) SNR) - sqrt(1.386 SF +
/// 1.154)).
///
/// T. Elshabrawy, J. Robert, Closed-Form Approximation of `LoRa` Modulation BER Performance,
/// IEEE Communications Letters 22(9), 2018, 1778-1781. Near the exact value about 1 %, low
/// by a factor of 2 to 4 about 0.001 % and by 14 at SF5 near one in a million.
///
/// # Errors
/// As [`css_symbol_error`].
pub fn css_bit_error_elshabrawy(sf: u8, snr: Db) -> Result<f64, OutOfRange> {
    let factor = bounds::SPREADING.check(f64::from(sf))?;
    SNR.check(snr.0)?;
    let argument = ((factor + 1.0).exp2() * snr.ratio()).sqrt() - (1.386 * factor + 1.154).sqrt();
    Ok(0.5 * special::gaussian_tail(argument))
}

/// The chance of a symbol error under Rayleigh fading with this mean SNR:
/// 1 - Gamma(M) Gamma(1+a) / Gamma(M+a), a = 1/(1 + M SNR), the exact integral of
/// [`css_symbol_error`] over the fading.
///
/// # Errors
/// As [`css_symbol_error`].
pub fn css_symbol_error_rayleigh(sf: u8, mean_snr: Db) -> Result<f64, OutOfRange> {
    bounds::SPREADING.check(f64::from(sf))?;
    SNR.check(mean_snr.0)?;
    let all = 1u32 << sf;
    let a = 1.0 / (1.0 + f64::from(all) * mean_snr.ratio());
    // Gamma(M) Gamma(1+a) / Gamma(M+a) is the product of k/(k+a) over k = 1 .. M-1.
    let log: f64 = (1..all).map(|k| (a / f64::from(k)).ln_1p()).sum();
    Ok(-(-log).exp_m1())
}

/// The SNR in the signal's bandwidth at which symbols are read wrong this often.
///
/// # Errors
/// [`OutOfRange`] for a spreading factor outside 5 to 12, a chance outside
/// [`WANTED_SYMBOL_ERROR`].
pub fn snr_for_symbol_error(sf: u8, symbol_error: f64) -> Result<Db, OutOfRange> {
    bounds::SPREADING.check(f64::from(sf))?;
    WANTED_SYMBOL_ERROR.check(symbol_error)?;
    let (mut low, mut high) = (-50.0, 20.0);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if css_symbol_error(sf, Db(middle))? > symbol_error {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(Db(f64::midpoint(low, high)))
}

/// The chance of a bit error of two-tone FSK with a non-coherent receiver in white noise:
/// exp(-Eb/2N0) / 2 (Proakis, Digital Communications, 4th edition, 5.4; from memory).
///
/// # Errors
/// [`OutOfRange`] for an Eb/N0 outside [`SNR`].
pub fn fsk_bit_error(ebn0: Db) -> Result<f64, OutOfRange> {
    SNR.check_as("ebn0_db", ebn0.0)?;
    Ok(0.5 * (-ebn0.ratio() / 2.0).exp())
}

/// The same under Rayleigh fading: 1 / (2 + mean Eb/N0) (Proakis, Digital Communications,
/// 4th edition, 14.3; from memory).
///
/// # Errors
/// [`OutOfRange`] for a mean Eb/N0 outside [`SNR`].
pub fn fsk_bit_error_rayleigh(mean_ebn0: Db) -> Result<f64, OutOfRange> {
    SNR.check_as("ebn0_db", mean_ebn0.0)?;
    Ok(1.0 / (2.0 + mean_ebn0.ratio()))
}

/// A block code that mends one wrong bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hamming {
    /// Four bits of data in seven (coding rate 4/7).
    SevenFour,
    /// Four bits of data in eight (coding rate 4/8).
    EightFour,
}

/// The chance that a code word can't be mended: 1 - (1-p)^n - n p (1-p)^(n-1), hard
/// decisions, wrong bits independent.
///
/// # Errors
/// [`OutOfRange`] for a bit error outside 0 to 0.5.
pub fn hamming_codeword_error(code: Hamming, bit_error: f64) -> Result<f64, OutOfRange> {
    let bit_error = BIT_ERROR.check(bit_error)?;
    let bits = match code {
        Hamming::SevenFour => 7,
        Hamming::EightFour => 8,
    };
    Ok(two_or_more(bits, bit_error))
}

/// The chance that at least two of `count` things go wrong, each with chance `p`; summed
/// so that small chances keep their digits.
fn two_or_more(count: u32, p: f64) -> f64 {
    let (n, q) = (f64::from(count), 1.0 - p);
    if count < 2 {
        return 0.0;
    }
    if q <= 0.0 {
        return 1.0;
    }
    let mut sum = 0.0;
    let mut term = n * (n - 1.0) / 2.0 * p * p * q.powi(i32::try_from(count).unwrap_or(i32::MAX) - 2);
    for k in 2..=count {
        sum += term;
        term *= (n - f64::from(k)) / (f64::from(k) + 1.0) * p / q;
    }
    sum.min(1.0)
}

/// What a chirp packet asks of its symbols.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Frame {
    /// Symbols that must all be right.
    bare: u32,
    /// Blocks of which each holds with one wrong symbol, and their lengths.
    mended: [(u32, u32); 2],
}

impl Frame {
    /// Standard interleaving spreads each code word of a block over all its symbols, one bit
    /// to each: at 4/7 and 4/8 a block with one wrong symbol is mended, at 4/5 and 4/6 wrong
    /// bits are only noticed. The first block is always coded 4/8.
    fn of(css: &Css, payload_bytes: u32) -> Result<Frame, OutOfRange> {
        let parts = css.parts(payload_bytes)?;
        let length = u32::from(css.coding.denominator);
        let headless_long =
            css.coding.interleaving == Interleaving::Long && css.header == crate::css::Header::Implicit;
        Ok(if length >= 7 {
            let rest = (parts.rest / length, length);
            let odd = parts.rest % length + if headless_long { parts.head } else { 0 };
            if headless_long {
                Frame { bare: 0, mended: [rest, (1, odd)] }
            } else {
                Frame { bare: odd, mended: [rest, (1, parts.head)] }
            }
        } else if headless_long {
            Frame { bare: parts.head + parts.rest, mended: [(0, 8), (0, 8)] }
        } else {
            Frame { bare: parts.rest, mended: [(0, 8), (1, parts.head)] }
        })
    }

    /// -ln of the chance that the packet arrives; `hazard` is -ln(1 - Ps).
    fn hazard(&self, hazard: f64) -> f64 {
        let wrong = -(-hazard).exp_m1();
        let blocks = self.mended.iter().filter(|(blocks, _)| *blocks > 0);
        let mended: f64 =
            blocks.map(|(blocks, length)| -f64::from(*blocks) * (-two_or_more(*length, wrong)).ln_1p()).sum();
        f64::from(self.bare) * hazard + mended
    }
}

/// The chance that a packet is lost at this SNR in the signal's bandwidth, by the theory of
/// an ideal receiver in white noise.
///
/// Chirps: from the exact symbol error; see the coding in the source. Preamble and sync word
/// are taken to be found. FSK: every bit of the packet must be right, Eb/N0 = SNR x
/// bandwidth / bit rate, bandwidth by [`crate::fsk::Fsk::bandwidth`]. A mode of which only a
/// sensitivity is stated is taken for SF7 at 4/5 ([`PacketCurve::assumed`]).
///
/// # Errors
/// [`OutOfRange`] for parameters that the chips can't be set to, a payload outside 1 to 255
/// bytes, an SNR outside [`SNR`].
pub fn packet_error(modulation: &Modulation, payload_bytes: u32, snr: Db) -> Result<f64, OutOfRange> {
    let lost = |hazard: f64| -(-hazard).exp_m1();
    match modulation {
        Modulation::Css(css) => {
            let frame = Frame::of(css, payload_bytes)?;
            let wrong = css_symbol_error(css.sf, snr)?;
            Ok(lost(frame.hazard(-(-wrong).ln_1p())))
        }
        Modulation::Fsk(fsk) => {
            let bits = f64::from(fsk.bits(payload_bytes)?);
            SNR.check(snr.0)?;
            let ebn0 = snr.ratio() * fsk.bandwidth().0 / fsk.bit_rate_kbps;
            Ok(lost(-bits * (-0.5 * (-ebn0 / 2.0).exp()).ln_1p()))
        }
        Modulation::Stated { .. } => packet_error(&Modulation::Css(curve::stand_in()), payload_bytes, snr),
    }
}
