"""The look of the page: light and dark by the reader's own setting, narrow and wide, on screen and on paper."""

from __future__ import annotations

STYLE = """
:root { --ink: #1d1d1f; --paper: #fcfcfa; --soft: #5d5d63; --rule: #c9c9c4; --band: #d3e6da; --mark: #0f5f8a; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #ececea; --paper: #16171a; --soft: #a9a9b0; --rule: #45464c; --band: #23443a; --mark: #7cc4ee; }
}
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 70rem; padding: 1rem; color: var(--ink); background: var(--paper);
  font: 1rem/1.5 system-ui, sans-serif; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 0; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; }
header p, footer p, caption, figcaption { color: var(--soft); }
.advice { padding-left: 1.4rem; font-size: 1.1rem; }
.advice li { margin-bottom: .6rem; }
.wide { overflow-x: auto; margin-bottom: 1.5rem; }
.wide:focus-visible { outline: 3px solid var(--mark); outline-offset: 2px; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
caption { text-align: left; padding-bottom: .3rem; }
th, td { padding: .35rem .7rem; text-align: right; vertical-align: top; white-space: nowrap;
  border-bottom: 1px solid var(--rule); }
th[scope=row], thead th:first-child { text-align: left; position: sticky; left: 0; background: var(--paper); }
td .interval { color: var(--soft); }
figure { margin: 0; break-inside: avoid; }
svg { width: 100%; height: auto; display: block; }
svg text { fill: var(--ink); font: 12px system-ui, sans-serif; }
svg .tick { fill: var(--soft); }
svg .end { text-anchor: end; }
svg .middle { text-anchor: middle; }
svg .band { fill: var(--band); }
svg .bar { fill: var(--mark); fill-opacity: .7; }
svg .axis { stroke: var(--ink); }
svg .grid { stroke: var(--rule); }
svg .spread { stroke: var(--mark); stroke-width: 1.5; }
svg .interval { stroke: var(--mark); stroke-width: 6; }
svg .dot { fill: var(--ink); }
svg .fitted { stroke: var(--mark); stroke-width: 2.5; }
svg .curve { fill: none; stroke: var(--mark); stroke-width: 1.2; opacity: .45; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .2rem 1rem; }
dt { font-weight: 600; }
dd { margin: 0; }
.pictures { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 19rem), 1fr)); gap: 1.5rem; }
@media (max-width: 69rem) { td .interval { display: block; font-size: .85rem; } }
@media (max-width: 30rem) { th, td { padding: .35rem .45rem; } th[scope=row] { white-space: normal; } }
@media print {
  :root { --ink: #000; --paper: #fff; --soft: #333; --rule: #999; --band: #ddd; --mark: #000; }
  body { max-width: none; padding: 0; font-size: 10pt; }
  .wide { overflow: visible; break-inside: avoid; }
}
"""
