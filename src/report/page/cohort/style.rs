//! What the cohort's page adds to the sheet of all pages.

/// The style sheet, after the common one.
pub(super) const SHEET: &str = "
body.cohort { max-width: 110rem; }
header > p { max-width: 60rem; }
summary { cursor: pointer; color: var(--teal); padding: .2rem 0; width: fit-content; }
:focus-visible { outline: 3px solid var(--clay); outline-offset: 2px; }
.key ul { display: flex; flex-wrap: wrap; gap: .1rem 1.6rem; list-style: none; padding: 0; margin: .1rem 0; font-size: .92em; }
#filters { display: flex; flex-wrap: wrap; gap: .6rem 1rem; align-items: end; margin: 1rem 0 .4rem; padding: .8rem 1rem; background: var(--panel); border-radius: .4rem; }
#filters[hidden], article[hidden] { display: none; }
#filters label { display: grid; gap: .15rem; color: var(--soft); font-size: .9em; flex: 0 1 auto; min-width: 0; max-width: min(22rem, 100%); }
#filters select, #filters input { font: inherit; font-size: 1rem; height: 2.25rem; width: 100%; min-width: 0; color: var(--ink); background: var(--ground); border: 1px solid var(--soft); border-radius: .25rem; padding: 0 .4rem; }
#filters label:has(input) { width: 11rem; }
.buttons { display: flex; flex-wrap: wrap; gap: .5rem; }
button { font: inherit; color: var(--ink); background: var(--ground); border: 1px solid var(--soft); border-radius: .25rem; padding: 0 .7rem; height: 2.25rem; cursor: pointer; }
#shown { font-weight: 600; }
.pairs { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(22.5rem, 100%), 1fr)); gap: 1rem; margin-top: .5rem; }
article { display: flex; flex-direction: column; border: 1px solid var(--line); border-radius: .4rem; padding: .7rem .9rem .6rem; min-width: 0; content-visibility: auto; contain-intrinsic-size: auto 19rem; }
article:has(details[open]) { grid-column: 1 / -1; contain-intrinsic-size: auto 60rem; }
article h2 { border: 0; margin: 0; padding: 0; font-size: 1.15rem; display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline; gap: 0 1rem; }
.marker { font-size: .95rem; font-weight: 400; color: var(--soft); }
article figure { margin: auto 0 .1rem; max-width: 30rem; }
article svg { overflow: visible; }
.counts { margin: .1rem 0 .3rem; }
.empty { color: var(--soft); padding: 2rem 0; }
.evidence { columns: 2 32rem; column-gap: 2.5rem; overflow-wrap: break-word; }
.evidence h3 { break-after: avoid; }
.evidence li, .evidence tr, .evidence dl > * { break-inside: avoid; }
.evidence h3 { display: block; }
.evidence dt { font-weight: 600; margin-top: .3rem; }
.evidence dd { margin: 0 0 0 1.3rem; }
.cells { color: var(--soft); font-size: .92em; overflow-wrap: anywhere; }
.wide { overflow-x: auto; }
.wide td:first-child { min-width: 9rem; }
.wide .cells { overflow-wrap: break-word; }
::placeholder { color: var(--soft); opacity: 1; }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
article svg text { font-size: 12px; text-anchor: middle; paint-order: stroke; stroke: var(--ground); stroke-width: 3px; stroke-linejoin: round; }
article svg .end { text-anchor: end; }
article svg .sign { font-size: 11px; }
svg .ground { fill: var(--panel); }
svg path.session { stroke: var(--teal); stroke-width: 6; stroke-linecap: round; }
svg path.whisker { stroke-width: 1.5; fill: none; }
svg .claimed { fill: var(--ground); stroke: var(--ink); stroke-width: 1.5; }
svg .found { fill: var(--ink); }
@media print {
  #filters { display: none; }
  .pairs { grid-template-columns: 1fr 1fr; gap: 4mm; }
  article { content-visibility: visible; break-inside: avoid; padding: 2mm 3mm; }
  article:has(details[open]) { break-inside: auto; }
  details:not([open]) > summary { display: none; }
  .key > summary { display: none; }
  article h2 { font-size: 10.5pt; } .marker { font-size: 8.6pt; }
  article figure svg { max-height: none; }
}
";
