//! What the drawings share.

use maud::{Markup, html};

/// How wide a drawing is: as a phone, so that its words keep the size of words.
pub(super) const WIDTH: f64 = 330.0;

/// A place, to a tenth.
pub(super) fn n(value: f64) -> String {
    // Minus nothing is nothing.
    let value = if value.abs() < 0.05 { 0.0 } else { value };
    format!("{value:.1}")
}

/// A count as a factor.
pub(super) fn times(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// A step of 1, 2 or 5 times a power of ten that divides a span into about so many pieces.
pub(super) fn round_step(span: f64, pieces: f64) -> f64 {
    let raw = (span / pieces).max(1e-6);
    let ten = 10_f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|one| one * ten).find(|step| *step >= raw).unwrap_or(10.0 * ten)
}

/// Multiples of a step between two bounds.
pub(super) fn marks(low: f64, high: f64, step: f64) -> Vec<f64> {
    let first = (low / step).ceil();
    (0..40).map(|at| (first + f64::from(at)) * step).take_while(|mark| *mark <= high + step * 1e-6).collect()
}

/// A number on an axis: no more digits than its step needs.
pub(super) fn tick(value: f64, step: f64) -> String {
    let value = if value.abs() < step * 1e-6 { 0.0 } else { value };
    if step < 0.95 { format!("{value:.1}") } else { format!("{value:.0}") }
}

/// A way through places, not closed.
pub(super) fn way(places: &[(f64, f64)]) -> String {
    let one = |(at, (x, y)): (usize, &(f64, f64))| {
        format!("{}{} {}", if at == 0 { "M" } else { " L" }, n(*x), n(*y))
    };
    places.iter().enumerate().map(one).collect()
}

/// A drawing as a picture with a title and a description.
pub(super) fn picture(
    key: &str,
    class: &str,
    height: f64,
    (title, about): (&str, &str),
    body: &Markup,
) -> Markup {
    html! {
        svg class={ "chart " (class) } role="img" viewBox={ "0 0 " (n(WIDTH)) " " (n(height)) }
            aria-label=(crate::words::clip(title)) aria-describedby={ (key) "-about" } {
            title { (crate::words::clip(title)) }
            desc id={ (key) "-about" } { (crate::words::clip_to(about, 400)) }
            (body)
        }
    }
}

/// An arrow from one place to another; its head is so long.
pub(super) fn arrow((x, y): (f64, f64), (to_x, to_y): (f64, f64), head: f64) -> Markup {
    let (dx, dy) = (to_x - x, to_y - y);
    let long = dx.hypot(dy).max(1e-6);
    let (ux, uy) = (dx / long, dy / long);
    let wing =
        |side: f64| (to_x - head * ux + side * head * 0.5 * uy, to_y - head * uy - side * head * 0.5 * ux);
    let ((ax, ay), (bx, by)) = (wing(1.0), wing(-1.0));
    html! {
        path.line d={
            "M" (n(x)) " " (n(y)) " L" (n(to_x)) " " (n(to_y))
            " M" (n(ax)) " " (n(ay)) " L" (n(to_x)) " " (n(to_y)) " L" (n(bx)) " " (n(by))
        } {}
    }
}
