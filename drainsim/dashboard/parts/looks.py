"""The looks all pages share: static rules, never with data in them."""

from typing import Final

import streamlit as st

from drainsim.figures.style import DARK, LIGHT
from drainsim.language import marked, say, spoken

# What is drawn in one theme's colours takes the other's at once.
_MARKS: Final = " ".join(
    f'.stPlotlyChart [style*="{way}: rgb({", ".join(map(str, bytes.fromhex(drawn[1:])))})"] '
    f"{{ {way}: light-dark({light}, {dark}) !important; }}"
    for light, dark in (
        (getattr(LIGHT, name), getattr(DARK, name))
        for name in ("charge", "margin", "temperature", "limit", "baseline")
    )
    for way in ("stroke", "fill")
    for drawn in (light, dark)
)
# What was answered before goes after half a second of waiting for the next answer. Captions in the
# theme's own grey reach 3.9:1 on white and file limits less; readable text needs 4.5:1 (WCAG 2.x,
# 1.4.3, from memory). Headings: a page's title, its answer and the figures of its cards are h2,
# sections h3. On a phone a wide table scrolls in its own frame instead of standing letters on edge;
# a fleet's list is cards. Under a finger a slider is gone and the box beside it is left, its
# steppers 48 px; where a mouse is there too, only the slider's track is dead. Targets of at least
# 44 px: WCAG 2.x, 2.5.5, from memory.
_RULES: Final = """<style>
 .st-key-doors { border-bottom: 1px solid color-mix(in srgb, currentColor 25%, transparent); }
 .st-key-menu { row-gap: 0.25rem; padding-bottom: 0.5rem; }
 .st-key-doors a { color: inherit; border-radius: 0; border-bottom: 3px solid transparent;
   background: none !important; }
 .st-key-doors [class*="_here"] a { border-color: currentColor; }
 .st-key-doors [class*="_here"] a p { font-weight: 700; }
 [data-testid="stBaseButton-primary"] p { color: Canvas; }
 [data-stale="true"]:has(.stMetric, .stTable, .stDataFrame, .stPlotlyChart),
 :is(.st-key-answer, .st-key-verdict_place) [data-stale="true"] {
   visibility: hidden; transition: visibility 0s 0.5s;
 }
 .stElementContainer:has(> .stHtml #spoken) { display: none; }
 .stAppHeader { height: 0; min-height: 0; }
 .stMainBlockContainer { padding-top: 1rem; padding-bottom: 3rem; }
 .stMainBlockContainer :is(h2, h3) { font-size: 1.125rem; font-weight: 600; padding: 0; }
 .stHeading [data-testid="stMarkdownContainer"] { margin-bottom: -0.25rem; }
 .stMainBlockContainer [data-testid="stVerticalBlock"] > .stElementContainer:has(h3):not(
   :first-child) { padding-top: 1rem; }
 .stColumn [class*="st-key-card_"] h2, .stMetric [data-testid="stMetricValue"] {
   font-size: 1.5rem; font-weight: 700;
 }
 .st-key-answer .stElementContainer h2 {
   font-size: clamp(1.5rem, 5.6vw, 2.25rem); font-weight: 700;
 }
 .stand [role="img"] { position: relative; display: flex; height: 1.5rem; overflow: hidden;
   border: 1px solid currentColor; border-radius: 4px; }
 .stand i { display: block; box-sizing: border-box; }
 .stand .safe { background: #2f7d5b; }
 .stand .unsure { background: repeating-linear-gradient(45deg, transparent 0 5px,
   color-mix(in srgb, currentColor 45%, transparent) 5px 7px); }
 .stand .past { background: repeating-linear-gradient(-45deg, currentColor 0 3px,
   color-mix(in srgb, currentColor 55%, transparent) 3px 5px); }
 .stand b { position: absolute; top: 0; bottom: 0; width: 3px; background: #b8480a;
   outline: 1px solid #fff; }
 .stand p { display: flex; flex-wrap: wrap; gap: 0.25rem 1rem; margin: 0.375rem 0 0;
   font-size: 0.875rem; }
 .stand span { display: inline-flex; align-items: center; gap: 0.375rem; white-space: nowrap; }
 .stand span i { width: 0.875rem; height: 0.875rem; border: 1px solid currentColor;
   border-radius: 2px; }
 @media (min-width: 641px) {
   .st-key-standing [data-testid="stHorizontalBlock"]:has(> .stColumn .st-key-panel) {
     display: grid; grid-template: "answer panel" auto "chart panel" 1fr / 1.7fr 1fr;
     gap: 1rem 2rem;
   }
   .stColumn:has(.st-key-answer) { grid-area: answer; width: auto; min-width: 0; }
   .stColumn:has(.st-key-answer_chart) { grid-area: chart; width: auto; min-width: 0; }
   .stColumn:has(.st-key-panel) {
     position: sticky; top: 1rem; align-self: flex-start; width: auto; min-width: 0;
     max-height: calc(100vh - 2rem); overflow-y: auto;
   }
   .st-key-verdict_alone { display: none; }
   :is(.st-key-verdict_place, .st-key-verdict_line):not(.st-key-panel *) > :first-child p {
     font-size: 1.5rem;
   }
   .stColumn:has(.st-key-panel):has(~ .stColumn .st-key-answer_chart) { grid-area: panel; }
 }
 @media (min-width: 641px) {
   [data-testid="stLayoutWrapper"]:has(> .st-key-fleet_cards) { display: none; }
 }
 @media (max-width: 640px) {
   [data-testid="stLayoutWrapper"]:has(> .st-key-fleet_list) { display: none; }
   .st-key-pages a { padding-inline: 0.375rem; }
   iframe.stIFrame, .stElementContainer:has(> .stIFrame) { height: 2300px !important; }
   [data-testid="stLayoutWrapper"]:has(> :is(.st-key-verdict_place, .st-key-circuits_summary)) {
     position: sticky; top: 0; z-index: 90;
     background: light-dark(#fff, #171614); padding: 0.25rem 0;
   }
 }
 .stPlotlyChart :is(.gtitle, .xtitle, .ytitle, .xtick text, .ytick text, .legendtext,
   .annotation-text) {
   fill: currentColor !important;
 }
 MARKS
 [data-testid="stFileUploaderDropzoneInstructions"] { display: none; }
 [data-testid="stFileUploaderDropzone"] button p { font-size: 0; }
 [data-testid="stFileUploaderDropzone"] button p::after {
   content: "UPLOAD"; font-size: 0.875rem;
 }
 .stNumberInput:has(input:out-of-range)::after { content: attr(data-told); font-size: 0.875rem; }
 [data-testid="stCaptionContainer"] { color: inherit; opacity: 0.8; }
 .stMultiSelect [data-tag] {
   color: inherit; background: color-mix(in srgb, currentColor 12%, transparent);
 }
 [class*="st-key-pair_"] .stNumberInput { flex: none; }
 [class*="st-key-pair_"]:has(input:out-of-range) { align-items: flex-start; }
 [class*="st-key-pair_"] > :first-child { flex: 1 1 0; min-width: 0; }
 @media (any-pointer: coarse) {
   .stSlider [role="group"] > [data-rac] { pointer-events: none; touch-action: auto !important; }
   [data-testid="stNumberInputContainer"], .stNumberInput input,
   .stTextInput input, .stDateInput input, [data-baseweb="select"] > div {
     min-height: 48px !important; font-size: 16px !important;
   }
   [data-testid="stNumberInputContainer"] { height: 48px !important; }
   [data-testid="stNumberInputStepDown"], [data-testid="stNumberInputStepUp"] {
     width: 48px !important; height: 48px !important;
   }
   :is(.stButton, .stDownloadButton, .stFileUploader, .stButtonGroup, .stDateInput,
     .stSelectbox, .stMultiSelect) button, .stTabs :is(button, [role="tab"]), .stRadio label,
   .stCheckbox label, :is(.stSelectbox, .stMultiSelect) input, summary,
   a[data-testid="stPageLink-NavLink"] { min-height: 46px !important; min-width: 44px !important; }
   .stTooltipIcon button { min-width: 44px; min-height: 44px; margin: -14px; }
   [data-testid="stElementToolbar"] { display: none; }
 }
 @media (pointer: coarse) {
   .stSlider > :not([data-testid="stWidgetLabel"]) { display: none !important; }
   [class*="st-key-pair_"] { align-items: center !important; }
 }
 @media (max-width: 640px) {
   [data-testid="stTable"] tr:has(> :nth-child(6)) > * { min-width: 4.75rem; }
   [data-testid="stTable"] tr:has(> :nth-child(6)) > :is(:first-child, :last-child) {
     min-width: 10rem;
   }
 }
</style>""".replace("MARKS", _MARKS)
_OUTSIDE: Final = marked("LOW to HIGH is possible; the answer keeps the number before")
# The page's language, for who reads it aloud. A box takes a comma for the decimal sign: the browser
# itself drops it without a word, and 2,5 becomes 25. Only where the language groups thousands by
# commas and the box goes so far does the third digit after it make it one of those. What is out of
# range is told in the page's words, as long as it stands there. Allowed by its digest (guard).
SCRIPT: Final = """
document.documentElement.lang = document.getElementById("spoken").lang;
window.commas ??= [
  ["focusin", box => box.type === "number"
    && Object.assign(box, {type: "text", inputMode: +box.min < 0 ? "text" : "decimal"}).select()],
  ["focusout", box => box.inputMode && Object.assign(box, {type: "number", inputMode: ""})],
  ["beforeinput", (box, event) => {
    if (!box.inputMode || !event.data) return;
    const typed = event.data.replace(",", ".");
    const [from, to] = [box.selectionStart, box.selectionEnd];
    const text = box.value.slice(0, from) + typed + box.value.slice(to);
    const good = /^-?\\d*\\.?\\d*$/.test(text);
    if (typed !== event.data || !text.includes(".")) box.comma = typed !== event.data;
    const thousands = box.comma && document.documentElement.lang === "en"
      && !(box.max && box.max < 1000) && /^\\d{1,3}\\.\\d{3}$/.test(text);
    if (good && typed === event.data && !thousands) return;
    event.preventDefault();
    if (thousands) box.select();
    if (good) document.execCommand("insertText", false, thousands ? text.replace(".", "") : typed);
  }],
  ["input", box => {
    const outside = box.value !== "" && (box.max && +box.value > box.max || +box.value < box.min);
    const told = !outside ? "" : document.getElementById("spoken").title
      .replace("LOW", box.min).replace("HIGH", box.max);
    box.setCustomValidity(told);
    box.closest(".stNumberInput").dataset.told = told;
  }],
].forEach(([when, act]) =>
  addEventListener(when, event => event.target.matches?.(".stNumberInput input")
    && act(event.target, event), true)) ?? true;
"""


def apply() -> None:
    """Put the rules and the language on the page; before anything else is drawn."""
    st.html(_RULES.replace("UPLOAD", say("Choose a file")))
    st.html(
        f'<i id="spoken" lang="{spoken().code}" title="{say(_OUTSIDE)}" hidden></i>'
        f"<script>{SCRIPT}</script>",
        unsafe_allow_javascript=True,
    )
