//! Answers as HTML and SVG.
