//! How pages look: one sheet for all of them.

/// The style sheet. Colour never stands alone: whatever it says stands in words beside it.
pub const SHEET: &str = "
:root { --ground: #fffdf8; --ink: #27323d; --soft: #5a6570; --line: #d9d2c4; --panel: #f5f0e6; --teal: #1f6f69; --clay: #a2562a; }
@media (prefers-color-scheme: dark) {
  :root { --ground: #171c20; --ink: #e9e6df; --soft: #aeb6bd; --line: #3b444c; --panel: #20272d; --teal: #7fcac2; --clay: #eba97f; }
}
* { box-sizing: border-box; }
html { font-size: 100%; }
body { margin: 0 auto; padding: 1.5rem 1.25rem 3rem; max-width: 50rem; background: var(--ground); color: var(--ink);
  font: 1rem/1.5 Calibri, Carlito, 'Segoe UI', system-ui, sans-serif; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 .25rem; }
h2 { font-size: 1.15rem; margin: 1.75rem 0 .5rem; padding-top: .4rem; border-top: 2px solid var(--line); }
h3 { font-size: 1rem; margin: 1rem 0 .2rem; display: flex; gap: 1rem; justify-content: space-between; align-items: baseline; }
p { margin: .35rem 0; }
ul, ol { margin: .35rem 0; padding-left: 1.3rem; }
li { margin: .25rem 0; }
.over { color: var(--soft); margin: 0; }
.mark { font-weight: 700; white-space: nowrap; }
.total { display: inline-block; margin: .75rem 0 0; padding: .4rem .9rem; background: var(--panel); border-left: 4px solid var(--teal); }
.total strong { font-size: 1.3rem; }
.first { background: var(--panel); padding: .6rem 1rem .7rem; border-radius: .4rem; margin-top: 1.25rem; }
.first h2 { border: 0; margin: 0; padding: 0; }
.first li { margin: .45rem 0; }
.said { border-left: 3px solid var(--clay); padding-left: .7rem; }
.level, .note { color: var(--soft); }
.word { font-weight: 700; color: var(--teal); }
.word.missing { color: var(--clay); }
figure { margin: .75rem 0; }
figcaption { color: var(--soft); font-size: .9em; }
svg { width: 100%; height: auto; display: block; }
svg text { font: 13px Calibri, Carlito, 'Segoe UI', system-ui, sans-serif; fill: var(--ink); }
svg .faint { fill: var(--soft); }
svg .grid { stroke: var(--line); stroke-width: 1; }
svg .practice { stroke: var(--teal); fill: none; stroke-width: 2; }
svg .session { fill: var(--teal); }
svg .test { fill: var(--clay); }
svg .whisker { stroke: var(--clay); stroke-width: 2; }
svg .target { stroke: var(--soft); stroke-dasharray: 5 4; }
svg .bar { fill: var(--teal); }
table { border-collapse: collapse; width: 100%; margin: .5rem 0; }
th, td { text-align: left; vertical-align: top; padding: .3rem .7rem .3rem 0; border-bottom: 1px solid var(--line); }
th { color: var(--soft); font-weight: 600; }
td.number, th.number { text-align: right; white-space: nowrap; }
footer { margin-top: 2rem; padding-top: .5rem; border-top: 1px solid var(--line); color: var(--soft); font-size: .9em; }
@media (max-width: 34rem) { body { padding: 1rem .9rem 2rem; overflow-wrap: break-word; } h1 { font-size: 1.4rem; } h3 { flex-wrap: wrap; gap: 0 1rem; }
  .feedback figure { overflow-x: auto; } .feedback figure svg { min-width: 34rem; } th, td { padding-right: .4rem; font-size: .9rem; } td.number, th.number { white-space: normal; } }
@media print {
  :root { --ground: #fff; --ink: #000; --soft: #444; --line: #bbb; --panel: #f4f1ea; --teal: #1f6f69; --clay: #a2562a; }
  @page { size: A4; margin: 12mm 14mm; }
  body { max-width: none; padding: 0; font-size: 8.6pt; line-height: 1.32; }
  h1 { font-size: 15pt; } h2 { font-size: 10.5pt; margin: 7pt 0 3pt; } h3 { font-size: 9pt; margin: 4pt 0 1pt; }
  p, li, ul, ol { margin-top: 1.5pt; margin-bottom: 1.5pt; }
  th, td { padding: 1.5pt 6pt 1.5pt 0; }
  figure { margin: 3pt 0; break-inside: avoid; } figure svg { max-height: 46mm; }
  .figures.two { display: grid; grid-template-columns: 1fr 1fr; gap: 6mm; }
  .total { margin-top: 4pt; padding: 2pt 6pt; } .first { margin-top: 6pt; padding: 4pt 8pt; }
  .columns { columns: 2; column-gap: 8mm; } li { break-inside: avoid; }
  h2, h3 { break-after: avoid; } tr { break-inside: avoid; }
  footer { margin-top: 6pt; padding-top: 2pt; font-size: 7.6pt; }
}
";
