//! Evidence lines, charts and parentage charts as SVG.
