/**
 * The look and the small behaviour of a page, as text, so that writing a page reads no file.
 *
 * Colours were chosen for a contrast of at least 4.5 : 1 in both schemes. The band at the top is a
 * court seen from above; nothing else is decoration.
 */

/** Half a tennis court as seen from behind the baseline, in true proportion, drawn for the band. */
const COURT_LINES = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 -6 668 216" fill="none" ` +
  `stroke="#fff" stroke-opacity=".5" stroke-width="2.5" stroke-linejoin="round">` +
  `<path d="M56 195H604M56 195 224 39M604 195 436 39M124 195 250 39M536 195 410 39M211 87H449` +
  `M330 87V39M330 195v-9M206 39H454"/><path stroke-width="3.5" d="M206 39V15L330 18 454 15V39"/></svg>`;

/** The mark in the browser's tab: half a court. */
export const PAGE_ICON = `data:image/svg+xml;base64,${
  btoa(
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" rx="6" fill="#17494f"/>` +
      `<path d="M7 27V7h18v20M7 17h18M16 17v10" fill="none" stroke="#fff" stroke-width="2"/></svg>`,
  )
}`;

export const PAGE_STYLE = `
:root{
  color-scheme:light dark;
  --paper:#fbf7ef;--card:#fffdf8;--ink:#26221d;--soft:#5d554a;--rule:#dfd5c4;--faint:#f2ebde;
  --court:#17494f;--court-line:#ffffff;--on-court:#ffffff;--on-court-soft:#d5e6e5;
  --clay:#a63f22;--clay-ground:#fbe9df;--link:#17565f;--focus:#0b57b5;
  --care:#6b4700;--care-ground:#fff3d3;--care-rule:#d9a53a;
  --picture:#fffdf8;
  --text:system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans","DejaVu Sans",sans-serif;
  --head:"Iowan Old Style",Charter,"Bitstream Charter","Source Serif 4",Constantia,Georgia,"Liberation Serif","DejaVu Serif",serif;
  --code:ui-monospace,"SFMono-Regular",Menlo,Consolas,"Liberation Mono","DejaVu Sans Mono",monospace;
}
*,::before,::after{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;text-size-adjust:100%;scroll-padding-top:1.5rem}
body{margin:0;background:var(--paper);color:var(--ink);font:400 1.0625rem/1.62 var(--text);
  overflow-wrap:break-word;text-rendering:optimizeLegibility}
h1,h2,h3,h4{font-family:var(--head);font-weight:600;line-height:1.2;text-wrap:balance;margin:0}
a{color:var(--link);text-underline-offset:.18em;text-decoration-thickness:.07em}
a:hover{text-decoration-thickness:.14em}
:focus-visible{outline:3px solid var(--focus);outline-offset:3px;border-radius:2px}
.unseen{position:absolute;width:1px;height:1px;margin:-1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
.skip{position:absolute;left:1rem;top:-6rem;z-index:2;background:var(--card);color:var(--ink);
  padding:.6rem 1rem;border-radius:0 0 .4rem .4rem}
.skip:focus{top:0}

/* the band: title, what it is about, where it comes from */
.band{--focus:#ffe08a;background:var(--court);color:var(--on-court);border-bottom:.5rem solid var(--clay)}
.band>div{max-width:86rem;margin:auto;padding:1.9rem clamp(1rem,4vw,3rem) 1.3rem}
.court{display:none}
@media screen and (min-width:72rem){
  .band>div{position:relative;padding-right:calc(clamp(1rem,4vw,3rem) + 22rem)}
  .court{display:block;position:absolute;top:1rem;bottom:.6rem;right:clamp(1rem,4vw,3rem);width:21rem;
    background:url("data:image/svg+xml;base64,${
  btoa(COURT_LINES)
}") right center/contain no-repeat}}
.band h1{font-size:clamp(1.75rem,1.2rem + 2.2vw,2.9rem);letter-spacing:-.012em;max-width:24ch}
.subtitle{margin:.55rem 0 0;font-size:1.12rem;line-height:1.45;color:var(--on-court-soft);max-width:58ch;text-wrap:balance}
.invented{display:inline-block;margin:0 0 .8rem;padding:.2rem .7rem;border-radius:1rem;background:#ffe08a;
  color:#3a2a00;font-size:.9rem;font-weight:600;line-height:1.45}
.strip{display:flex;flex-wrap:wrap;gap:.35rem 1.8rem;margin:1.15rem 0 0;font-size:.92rem;line-height:1.4}
.strip>div{display:flex;gap:.5em;min-width:0}
.strip dt{color:var(--on-court-soft)}
.strip dd{margin:0;font-weight:600;overflow-wrap:anywhere}
/* on a phone the top is for what there is to know; all of this stands in the footer too */
@media (max-width:40rem){.band>div{padding-top:1rem;padding-bottom:.8rem}.strip{margin-top:.6rem}
  .strip>div:nth-child(n+3){display:none}
  .in-short{padding-top:.9rem}.card{padding:.8rem 1rem}.card li{line-height:1.42}.card li+li{margin-top:.45rem}}

/* the page under it: contents beside the report where there is room */
.sheet{max-width:86rem;margin:auto;padding:0 clamp(1rem,4vw,3rem) 2rem}
@media (min-width:75rem){
  .sheet.with-contents{display:grid;grid-template-columns:14rem minmax(0,1fr);column-gap:3rem}
  .sheet.with-contents .in-short{grid-column:1/-1}
  .contents{position:sticky;top:1.5rem;align-self:start;max-height:calc(100vh - 3rem);overflow:auto}
}
main{min-width:0}
main>*{max-width:68ch}
main>.scroll,main>figure,main>.wide,main>details[open]{max-width:none}

.in-short{padding-top:1.1rem}
.in-short>h2{font-size:1.15rem;color:var(--soft);margin-bottom:.7rem}
.cards{display:grid;gap:1.1rem;grid-template-columns:repeat(auto-fit,minmax(min(100%,21rem),1fr))}
.card{background:var(--card);border:1px solid var(--rule);border-top:.28rem solid var(--court);border-radius:.3rem;
  padding:.85rem 1.2rem .9rem;min-width:0}
.card:nth-child(even){border-top-color:var(--clay)}
.card h3{font-size:1.3rem;margin-bottom:.45rem}
.card:has(figure){grid-column:1/-1;padding:0;border:0;background:none}.card figure{margin:0}
.card p{margin:.5rem 0}
.card ol,.card ul{list-style:none;margin:0;padding:0;counter-reset:thing}
.card li{counter-increment:thing;position:relative;padding-left:2rem;line-height:1.45}
.card li+li{margin-top:.5rem}
.card li::before{content:counter(thing);position:absolute;left:0;top:-.06em;font:600 1.35rem/1.15 var(--head);color:var(--clay)}
.card li li{padding-left:1rem}.card li li::before{content:"–";font:inherit}
.card li>p{margin:0}

.contents{margin-top:2.2rem;font-size:.95rem;line-height:1.4}
.contents h2{font-size:1.05rem;color:var(--soft);margin-bottom:.5rem}
.contents ol{list-style:none;margin:0;padding:0;border-left:2px solid var(--rule)}
.contents ol ol{border:0}
.contents a{display:block;padding:.27rem 0 .27rem .9rem;text-decoration:none;color:var(--ink)}
.contents ol ol a{padding-left:1.9rem;color:var(--soft);font-size:.93em}
.contents a:hover{text-decoration:underline}
.code-switch{margin:.9rem 0 0}
button{font:inherit;color:inherit}
.code-switch button{border:1px solid var(--rule);background:var(--card);border-radius:.3rem;padding:.28rem .8rem;
  font-size:.9rem;color:var(--soft);cursor:pointer}
.code-switch button:hover{border-color:var(--soft);color:var(--ink)}
@media (max-width:74.99rem){.contents ol ol{display:none}
  .contents>ol{border:0;columns:16rem;column-gap:2rem}.contents li{break-inside:avoid;border-left:2px solid var(--rule)}}

/* the report */
main h2{font-size:clamp(1.5rem,1.3rem + .8vw,1.95rem);margin:3.2rem 0 .9rem;padding-top:1.1rem;border-top:2px solid var(--court)}
main h3{font-size:1.32rem;margin:2.3rem 0 .6rem}
main h4,main h5,main h6{font-size:1.1rem;margin:1.8rem 0 .4rem}
main>:first-child{margin-top:2.2rem}
main>h2:first-child{padding-top:0;border-top:0}
p,ul,ol,dl,blockquote,pre{margin:0 0 1.05rem}
li+li{margin-top:.3rem}
blockquote{margin-left:0;padding-left:1.1rem;border-left:3px solid var(--rule);color:var(--soft)}
hr{border:0;border-top:1px solid var(--rule);margin:2rem 0}
code,pre,kbd{font-family:var(--code);font-size:.875em}
p code,li code,td code{background:var(--faint);border-radius:.2rem;padding:.08em .3em;overflow-wrap:anywhere}
mark{background:var(--care-ground);color:var(--care)}
pre{overflow:auto;background:var(--faint);border-radius:.3rem;padding:.8rem 1rem;line-height:1.5}
.answer{white-space:pre-wrap;overflow-wrap:anywhere}
.missing{color:var(--soft)}
.log{border-left:3px solid var(--rule);padding-left:.9rem;margin:0 0 1.05rem;color:var(--soft);font-size:.92rem}
.log pre{background:none;padding:0;margin:0;white-space:pre-wrap;max-height:16rem;overflow-wrap:anywhere}
.log .kind{display:block;font-size:.85em}

.caution,.stopped,.error{border-radius:.3rem;padding:.9rem 1.2rem;margin:1.3rem 0;background:var(--care-ground);
  border-left:.35rem solid var(--care-rule)}
.caution>.kind,.stopped>.kind,.error>.kind{font-weight:700;color:var(--care);margin:0 0 .25rem}
.caution :is(h2,h3,h4,h5,h6){font-size:1.15rem;margin:0 0 .3rem;padding:0;border:0}
.caution>:last-child,.stopped>:last-child,.error>:last-child{margin-bottom:0}
.error,.stopped{background:var(--clay-ground);border-color:var(--clay)}
.error>.kind,.stopped>.kind{color:var(--clay)}
.error pre{background:none;padding:0;white-space:pre-wrap;overflow-wrap:anywhere}
.error p{overflow-wrap:anywhere}
.stopped{margin:1.4rem 0 0}

.code-away details.code{display:none}
details.code{margin:0 0 1rem;font-size:.9rem;color:var(--soft)}
details.code>summary{cursor:pointer;width:fit-content;padding:.1rem .3rem .1rem 0}
details.code>summary:hover{color:var(--ink)}
details.code pre{margin:.4rem 0 0;color:var(--ink)}

details.fold{margin:0 0 1rem;max-width:none!important}
details.fold>summary{cursor:pointer;width:fit-content;color:var(--link);padding:.15rem 0}
details.fold>summary:hover{text-decoration:underline;text-underline-offset:.18em}
details.fold:not([open]){margin-bottom:.5rem}
/* words that the page explains: pressed, their explanation opens at the foot of the window */
.term{all:unset;cursor:pointer;text-decoration:underline dotted;text-underline-offset:.2em;text-decoration-thickness:.08em}
.term:hover{text-decoration-style:solid}
.term:focus-visible{outline:3px solid var(--focus);outline-offset:2px;border-radius:2px}
.word{position:fixed;inset:auto 0 0;width:min(100%,40rem);max-height:60vh;overflow:auto;margin:0 auto clamp(0rem,2vw,1rem);
  padding:1rem 1.3rem;border:1px solid var(--rule);border-top:.28rem solid var(--court);border-radius:.3rem;
  background:var(--card);color:var(--ink);box-shadow:0 .3rem 1.5rem rgb(0 0 0/.25)}
.word>p,.terms p{margin:0}
.word:not(:popover-open){display:none}
.terms{list-style:none;padding:0;max-width:68ch}
caption small{font-size:.94em}
/* figures and tables carry a number that is also their address */
.scroll{overflow-x:auto;position:relative;container-type:inline-size;margin:1.5rem 0 1.6rem}
.scroll::after{content:"";display:block;clear:both}
figure{margin:1.9rem 0 2.1rem;min-width:0}
figure .scroll{margin:0}
.picture{background:var(--picture);border:1px solid var(--rule);border-radius:.35rem;padding:clamp(.5rem,1.6vw,1.1rem);
  width:fit-content;max-width:100%}
.picture:has(img[style]){width:100%}
.picture:has(img.on-card){background:none;border:0;border-radius:0;padding:0} /* it brings its own */
.picture img{display:block;height:auto;width:min(100%,max(68ch,var(--own-width,40rem)));max-width:none}
.picture:has(.chart){background:none;border:0;border-radius:0;padding:0;width:100%}
.chart svg{display:block;height:auto;width:min(100%,max(68ch,var(--own-width)))}
.chart.narrow,.slices{display:none}
@media screen and (max-width:30rem){.chart.wide{display:none}.chart.narrow{display:block}}
[data-about]{cursor:help}
[data-about]:hover,[data-about].read{fill:rgb(23 73 79/.12)}
.reading{margin:.5rem 0 0;font-size:.95rem;min-height:1.5em}
tr.read>*{background:var(--care-ground)!important}
.picture.large{width:100%}
.picture.large img,.picture.large .chart svg{width:var(--own-width,60rem);max-width:none}
figcaption,.words{font-size:.95rem;line-height:1.5;color:var(--soft)}
figcaption{margin-top:.65rem;max-width:68ch}
figcaption strong{color:var(--ink)}
.self{font-weight:700;color:var(--ink);text-decoration:none;margin-right:.35em;white-space:nowrap}
.self:hover{text-decoration:underline}
:target{scroll-margin-top:1.5rem}
figure:target .picture,table:target{outline:3px solid var(--clay);outline-offset:3px}
table{border-collapse:collapse;font-size:.95rem;line-height:1.4;font-variant-numeric:tabular-nums lining-nums}
caption{caption-side:top;text-align:left;padding:0 0 .55rem}
.words{display:inline-block;position:sticky;left:0;max-width:min(68ch,100cqw);white-space:normal}
th,td{padding:.42rem .8rem .42rem 0;text-align:left;vertical-align:baseline;border-bottom:1px solid var(--rule)}
th:not(:first-child),td:not(:first-child){padding-left:.8rem}
thead th{border-bottom:2px solid var(--ink);font-weight:650;vertical-align:bottom;line-height:1.25}
tbody th{font-weight:600;min-width:min(15ch,36vw)}
tfoot td,tfoot th{border-bottom:0;border-top:2px solid var(--rule);color:var(--soft)}
tfoot td[colspan]{max-width:none}
tbody tr:hover>*{background:var(--faint)}
table.many{font-size:.875rem}
table.many :is(th,td){padding-right:.5rem}table.many :is(th,td):not(:first-child){padding-left:.5rem}
.number{text-align:right}
td.number{white-space:nowrap}
td.number:has(.limits),td.reason{white-space:normal}
td.long{min-width:5.7rem}td.reason{min-width:4.6rem;color:var(--soft)}
.limits{font-size:.94em;white-space:nowrap;color:var(--soft)}.limits.prose{white-space:normal}
@media screen{td:is(.prose,:has(.prose)){min-width:13rem}}
.unit{font-weight:400;color:var(--soft)}.nowrap{white-space:nowrap}
td{min-width:3.2rem;max-width:46ch}
@media (max-width:40rem){
  td.long{min-width:11rem} /* what is off the screen may be wide, and keeps its row low */
  th,td{padding-right:.6rem}th:not(:first-child),td:not(:first-child){padding-left:.6rem}
  tbody th[scope=row]{position:sticky;left:0;z-index:1;background:var(--paper);max-width:38vw;box-shadow:1px 0 var(--rule)}
}
table[data-sortable] :is(th,td):last-child{padding-right:1.2rem} /* room for the sort sign */
th button{all:unset;cursor:pointer;font:inherit;display:inline-block;position:relative;text-align:inherit}
.printed{display:none}
th button:hover{text-decoration:underline;text-underline-offset:.18em}
th button:focus-visible{outline:3px solid var(--focus);outline-offset:3px;border-radius:2px}
th button::after{content:"\\2195";position:absolute;left:100%;bottom:0;
  padding-left:.12em;font-size:.85em;color:var(--soft);font-weight:400}
th[aria-sort=ascending] button::after{content:"\\2191";color:var(--clay);font-weight:700}
th[aria-sort=descending] button::after{content:"\\2193";color:var(--clay);font-weight:700}
.more{font-size:.88rem;color:var(--soft);margin:-1.2rem 0 1.4rem}
figure .more{margin:.4rem 0 0}
.more button{all:unset;cursor:pointer;color:var(--link);text-decoration:underline;text-underline-offset:.18em;padding:.2rem 0}
.more button:focus-visible{outline:3px solid var(--focus);outline-offset:3px}
[hidden]{display:none!important}

/* where it comes from, in full */
.foot{background:var(--faint);border-top:1px solid var(--rule);margin-top:2.5rem;font-size:.94rem}
.foot>div{max-width:86rem;margin:auto;padding:1.9rem clamp(1rem,4vw,3rem) 2.3rem;display:grid;gap:1.2rem 4rem;
  grid-template-columns:repeat(auto-fit,minmax(min(100%,26rem),1fr))}
.foot h2{font-size:1.15rem;margin-bottom:.6rem}
.foot dl{display:grid;grid-template-columns:minmax(6.5rem,max-content) minmax(0,1fr);gap:.3rem 1.1rem;margin:0}
.foot .files{grid-column:1/-1}
.files dd{font:.82em/1.6 var(--code)}
@media (max-width:40rem){.foot .files dl{display:block}.files dd{margin-bottom:.5rem}}
.foot dt{color:var(--soft)}.foot dd{margin:0;overflow-wrap:anywhere}
.foot ul{margin:0;padding-left:1.1rem}
.files>summary{cursor:pointer;font:600 1.15rem var(--head);margin-bottom:.6rem}
.foot p{margin:0;color:var(--soft)}
.foot .plain{grid-column:1/-1}

@media screen and (prefers-color-scheme:dark){
  :root{--paper:#191714;--card:#221f1b;--ink:#eee7db;--soft:#bbb0a0;--rule:#3d372f;--faint:#26221d;
    --court:#123b41;--on-court:#f4f1ea;--on-court-soft:#bfd5d4;
    --clay:#f2a282;--clay-ground:#3a241b;--link:#8fd0d4;--focus:#ffd166;
    --care:#f5d58a;--care-ground:#332a14;--care-rule:#b98a2b;--picture:#fffdf8}
  main h2{border-top-color:#3f7f86}
  .card{border-top-color:#3f7f86}
  .band{border-bottom-color:#8f3a20}
  .picture{border-color:transparent}
  .picture:has(img.adapts){--picture:transparent;border-color:var(--rule)}
  /* the kit's charts: light and dark change places, hues stay */
  .chart svg,.picture img.on-card:not(.adapts){filter:invert(.9) hue-rotate(180deg)}
}
@media (prefers-reduced-motion:no-preference){html{scroll-behavior:smooth}}

@page{size:A4;margin:16mm 15mm 18mm}
@media print{
  :root{color-scheme:light;--paper:#fff;--card:#fff;--faint:#f5f2ec;--picture:#fff}
  html{font-size:9.5pt}
  body{font-size:10pt;line-height:1.45;background:#fff}
  .skip,.contents,details.code,.more,.code-switch,.word,caption small{display:none!important}
  .term{text-decoration:none}
  .band,.band>div{background:none}
  .band{color:#000;border-bottom:1.5pt solid #000}
  .band>div,.foot>div,.sheet{padding-left:0;padding-right:0;max-width:none}
  .band>div{padding-top:0}
  .band h1{font-size:21pt;max-width:none}.subtitle,.strip dt{color:#333}
  .invented{background:none;border:1pt solid #000;color:#000}
  .sheet.with-contents{display:block}
  main>*{max-width:none}
  .cards{grid-template-columns:1fr 1fr;gap:5mm}
  .foot{background:none}
  .foot dl{grid-template-columns:max-content minmax(0,1fr)}.foot>div{display:block}.foot section{margin-bottom:4mm}
  .files dd{font:7.5pt/1.5 var(--code)}
  .card,figure,.caution,.error,tr,.foot section,.picture{break-inside:avoid}
  h2,h3,h4,caption,thead,tbody tr:nth-child(-n+2){break-after:avoid}
  main h2{font-size:15pt;margin-top:9mm}main h3{font-size:12.5pt}
  .scroll{overflow:visible;container-type:normal;position:static}
  .words{position:static;max-width:none}
  .picture{border:0;padding:0;width:100%;max-width:none}
  .picture img,.chart svg{min-width:0;max-width:100%;width:auto;max-height:235mm;margin:0}
  /* taller than a sheet: its parts, each at full size; the whole is what they are parts of */
  .chart.tall{position:absolute;width:0;height:0;overflow:hidden}
  .chart.tall svg{max-width:none;max-height:none}
  .slices{display:block}.slices svg{display:block;max-width:100%;height:auto;break-inside:avoid}
  figure:has(.slices),.picture:has(.slices){break-inside:auto}
  .reading{display:none}
  thead{display:table-header-group;break-inside:avoid}tfoot{display:table-row-group}
  table{font-size:8.5pt;max-width:100%}
  table.many{font-size:7.5pt}table.many :is(th,td){padding-left:.8mm!important;padding-right:.8mm}
  .limits,small{font-size:1em}.limits{white-space:normal}figcaption,.words{font-size:9pt}
  details.fold:not([open]){display:none} /* what the reader left closed is not asked for */
  tbody th{min-width:0}
  th,td{padding:1mm 2mm 1mm 0}th:not(:first-child),td:not(:first-child){padding-left:2mm}
  td.number{white-space:normal}td,td.long,td.reason{min-width:0}
  tbody th[scope=row]{position:static;box-shadow:none}
  th button{display:none}.printed{display:inline}
  .log pre{max-height:none}
  a{color:inherit;text-decoration:none}
  p,li{orphans:3;widows:3}
}
@media (forced-colors:active){.band,.card,.caution,.error{border:1px solid}}
`;

/**
 * Sorts tables, keeps the code out of sight until it is asked for, and says where something can be scrolled. Everything it adds
 * is absent without it, so that a reader without scripts meets no dead button.
 */
export const PAGE_SCRIPT = `"use strict";
(() => {
  const language = document.documentElement.lang || "en";
  const words = new Intl.Collator(language, { numeric: true, sensitivity: "base" });
  const status = document.getElementById("status");
  const nothing = /^(|[-\\u2013\\u2014]|n\\/?a|none)$/i;

  const toNumber = (text) => {
    const plain = text.replace(/\\u2212/g, "-").replace(/(\\d)[, \\u2009\\u202f](?=\\d{3}(?!\\d))/g, "$1");
    const found = /[-+]?(\\d+(\\.\\d*)?|\\.\\d+)(e[-+]?\\d+)?/i.exec(plain);
    return found ? Number(found[0]) : NaN;
  };
  const keyOf = (row, column, numeric) => {
    const cell = row.cells[column];
    const text = cell ? (cell.dataset.sort ?? cell.textContent).trim() : "";
    if (nothing.test(text)) return null;
    if (!numeric) return text;
    const number = toNumber(text);
    return Number.isNaN(number) ? null : number;
  };

  for (const table of document.querySelectorAll("table[data-sortable]")) {
    const body = table.tBodies[0];
    const heads = [...table.tHead.rows[0].cells];
    const written = [...body.rows];
    // A long table shows its first rows, in whatever order, until all are asked for
    let all = written.length <= 25;
    const fold = () => {
      [...body.rows].forEach((row, index) => { row.hidden = !all && index >= 20; });
    };
    if (!all) {
      const more = document.createElement("p");
      const button = document.createElement("button");
      more.className = "more rows";
      button.type = "button";
      button.textContent = "Show all " + written.length + " rows";
      button.addEventListener("click", () => {
        all = !all;
        button.textContent = all ? "Show the first 20 rows" : "Show all " + written.length + " rows";
        fold();
      });
      more.append(button);
      table.closest(".scroll").after(more);
      fold();
    }
    heads.forEach((head, column) => {
      const name = head.textContent.trim();
      if (head.tagName !== "TH" || name === "") return;
      const button = document.createElement("button");
      button.type = "button";
      // Chromium repeats no table head in print that holds a button, so print shows the words alone
      const printed = document.createElement("span");
      printed.className = "printed";
      printed.append(...[...head.childNodes].map((node) => node.cloneNode(true)));
      button.append(...head.childNodes);
      head.append(button, printed);
      head.setAttribute("aria-sort", "none");
      button.addEventListener("click", () => {
        const before = head.getAttribute("aria-sort");
        const order = before === "none" ? "ascending" : before === "ascending" ? "descending" : "none";
        for (const other of heads) if (other.hasAttribute("aria-sort")) other.setAttribute("aria-sort", "none");
        head.setAttribute("aria-sort", order);
        const numeric = head.classList.contains("number") ||
          written.some((row) => row.cells[column]?.classList.contains("number"));
        const keyed = written.map((row) => ({ row, key: keyOf(row, column, numeric) }));
        const sign = order === "descending" ? -1 : 1;
        if (order !== "none") keyed.sort((a, b) => {
          if (a.key === null || b.key === null) return (a.key === null) - (b.key === null);
          return sign * (numeric ? a.key - b.key : words.compare(a.key, b.key));
        });
        body.append(...keyed.map(({ row }) => row));
        fold();
        status.textContent = order === "none" ? "Rows as first written" : "Sorted by " + name + ", " + order;
      });
    });
  }

  if (matchMedia("screen and (max-width: 40rem)").matches) {
    for (const fold of document.querySelectorAll("details.wide-open")) fold.open = false;
  }
  for (const fold of document.querySelectorAll("details.fold")) fold.addEventListener("toggle", () => look());

  // Values of a chart: under the pointer, by tap, and by the arrow keys on a chart that has the focus
  const rowsAbout = new Map();
  for (const row of document.querySelectorAll("main tbody tr")) {
    const head = row.querySelector("th[scope=row]") ?? row.cells[0];
    const name = head.textContent.trim();
    if (!rowsAbout.has(name)) rowsAbout.set(name, []);
    rowsAbout.get(name).push(row);
  }
  for (const chart of document.querySelectorAll(".chart")) {
    const values = [...chart.querySelectorAll("[data-about]")];
    if (values.length === 0) continue;
    const figure = chart.closest("figure");
    let reading = figure.querySelector(".reading");
    if (!reading) {
      reading = document.createElement("p");
      reading.className = "reading";
      reading.setAttribute("role", "status");
      figure.querySelector("figcaption").before(reading);
    }
    chart.tabIndex = 0;
    chart.setAttribute("role", "group");
    chart.setAttribute("aria-label", "Values of the chart: arrow keys go from one to the next");
    let at = -1;
    const read = (index) => {
      at = index;
      for (const old of document.querySelectorAll(".read")) old.classList.remove("read");
      const value = values[index];
      value.classList.add("read");
      reading.textContent = value.textContent;
      const section = figure.closest("main") ? [...rowsAbout.get(value.dataset.about) ?? []] : [];
      for (const row of section) row.classList.add("read");
      const near = section.map((row) => row.closest("table"))
        .filter((table) => table.id && !table.closest("[hidden]"));
      for (const table of new Set(near)) {
        const link = document.createElement("a");
        link.href = "#" + table.id;
        link.textContent = "Table " + table.id.replace(/\\D+/g, "");
        link.addEventListener("click", () => { const fold = table.closest("details"); if (fold) fold.open = true; });
        reading.append(" · ", link);
      }
    };
    values.forEach((value, index) => {
      value.addEventListener("pointerenter", () => read(index));
      value.addEventListener("click", () => read(index));
    });
    chart.addEventListener("keydown", (event) => {
      const step = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
      const to = event.key === "Home" ? 0 : event.key === "End" ? values.length - 1 : step === undefined ? null : at + step;
      if (to === null) return;
      event.preventDefault();
      read(Math.min(values.length - 1, Math.max(0, to)));
    });
  }

  const codes = [...document.querySelectorAll("details.code")];
  const contents = document.getElementById("contents");
  if (codes.length > 0 && contents) {
    const place = document.createElement("p");
    const button = document.createElement("button");
    place.className = "code-switch";
    button.type = "button";
    const turn = () => {
      const away = document.body.classList.toggle("code-away");
      for (const code of codes) code.open = !away;
      button.textContent = away ? "Show the code" : "Hide the code";
    };
    button.addEventListener("click", turn);
    turn();
    place.append(button);
    contents.append(place);
  }

  const regions = [...document.querySelectorAll(".scroll")].map((region) => {
    const more = document.createElement("p");
    more.className = "more";
    const pictures = region.classList.contains("picture") ? [...region.querySelectorAll("img, .chart svg")] : [];
    const picture = pictures.length > 0 ? () => pictures.find((one) => one.getClientRects().length > 0) ?? pictures[0] : null;
    let zoom = null;
    if (picture) {
      zoom = document.createElement("button");
      zoom.type = "button";
      zoom.addEventListener("click", () => {
        region.classList.toggle("large");
        look();
      });
      more.append(zoom);
    } else more.textContent = "Scroll sideways to see all of it.";
    region.after(more);
    return { region, more, picture, zoom };
  });
  const look = () => {
    for (const { region, more, picture, zoom } of regions) {
      const wider = region.scrollWidth > region.clientWidth + 1;
      if (zoom) {
        const large = region.classList.contains("large");
        const shown = picture();
        const own = shown.naturalWidth || Number(shown.getAttribute("width"));
        more.hidden = !large && shown.getBoundingClientRect().width >= own * 0.8;
        zoom.textContent = large ? "Show the whole figure" : "Show larger, to scroll sideways";
      } else more.hidden = !wider;
      if (wider) region.tabIndex = 0;
      else region.removeAttribute("tabindex");
    }
  };
  look();
  addEventListener("load", look);
  addEventListener("resize", look);
})();
`;
