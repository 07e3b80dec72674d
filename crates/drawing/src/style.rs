//! Line weights, colours and type, each stated once. Plain values: custom properties of CSS are not read by every
//! renderer. A dark or printing theme replaces or overrides these rules by class.

/// The rules of the drawing. Weights in mm, thick to thin 2 to 1 (ISO 128-2:2020): 0.35 outlines, 0.18 the rest.
pub(crate) const STYLE: &str = "\
.paper{fill:#fffdf8}
.frame{fill:none;stroke:#1d1b18;stroke-width:.5}
.cell{fill:none;stroke:#1d1b18;stroke-width:.25}
.body{stroke:#1d1b18;stroke-width:.35;stroke-linejoin:round;stroke-linecap:round;fill-rule:evenodd}
.steel{fill:#e9ebec}
.brass{fill:#efe6d3}
.ruby{fill:#f6d3d8}
.arbor{fill:#cfd3d5}
.banking{fill:#efe6d3}
.bare{fill:none}
.hidden{fill:none;stroke:#1d1b18;stroke-width:.18;stroke-dasharray:2.4 1}
.phantom{fill:none;stroke:#1d1b18;stroke-width:.18;stroke-dasharray:6 .9 .9 .9 .9 .9}
.thin{fill:none;stroke:#1d1b18;stroke-width:.18}
.centre{fill:none;stroke:#1d1b18;stroke-width:.18}
.arrow{fill:#1d1b18}
.contact{fill:none;stroke:#1d1b18;stroke-width:.25}
.bar-full{fill:#1d1b18}
.hatch-ruby-ground{fill:#f6d3d8}
.hatch-ruby-line{stroke:#a8243f;stroke-width:.18}
.hatch-brass-ground{fill:#efe6d3}
.hatch-brass-line{stroke:#1d1b18;stroke-width:.18}
text{font-family:'IBM Plex Sans','DejaVu Sans','Liberation Sans',Arial,sans-serif;fill:#1d1b18;font-variant-numeric:tabular-nums}
.small{font-size:2.5px}
.plain{font-size:3.5px}
.large{font-size:5px}
.sub-small{font-size:1.8px}
.sub-plain{font-size:2.52px}
.sub-large{font-size:3.6px}
.middle{text-anchor:middle}
.end{text-anchor:end}
";
