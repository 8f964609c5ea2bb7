/** The look and behaviour of the published catalogue's page, as text, besides what all pages share. */
export const CATALOGUE_STYLE = `
.catalogue>*,.catalogue>section{max-width:none}
.catalogue ol{max-width:80ch}
.band .logo{display:block;max-height:3.2rem;max-width:14rem;margin-bottom:.6rem}
.reading{margin:1.4rem 0 .6rem}.reading summary{font:600 1.3rem var(--head);cursor:pointer}.reading ol{margin-top:.6rem}
.catalogue{max-width:none;padding:0 clamp(1rem,3vw,2.5rem)}
.catalogue>section>h2{font-size:1.4rem;margin:2rem 0 .7rem;padding-top:.8rem}
.catalogue>.caution>h2{margin:0 0 .3rem;padding:0}
#controls{position:sticky;top:0;z-index:3;display:flex;flex-wrap:wrap;gap:.5rem 1.1rem;align-items:end;
  background:var(--paper);padding:.7rem 0;border-bottom:1px solid var(--rule)}
#controls label{display:flex;flex-direction:column;font-size:.85rem;color:var(--soft)}
#controls :is(input,select,button){font:inherit;font-size:1rem;color:var(--ink);background:var(--card);border:1px solid var(--soft);
  border-radius:.3rem;padding:.3rem .6rem;min-height:2.4rem;max-width:100%}
#controls input[type=number]{width:7rem}
#controls button:disabled{color:var(--soft);border-style:dashed}
#count{color:var(--soft);font-size:.95rem;align-self:center}
#table thead th{background:var(--paper)}
#table .name{display:inline-block;padding-right:1.1em}
#table .unit{display:block}
#table{width:100%}
#table tbody th{white-space:nowrap}
#more{color:var(--soft);margin:.8rem 0}
#more button{font:inherit;color:var(--ink);background:var(--card);border:1px solid var(--soft);border-radius:.3rem;padding:.3rem .6rem;min-height:2.4rem}
.tick{display:inline-block;padding:.25rem .6rem .25rem 0}
.tick input{width:1.15rem;height:1.15rem;accent-color:var(--clay)}
.trust{display:block;font-weight:400;font-size:.78rem;color:var(--soft);min-width:5rem;white-space:normal}
.part{display:block;font-size:.85em;color:var(--soft);white-space:nowrap}
.limits{display:block}
#table td[data-metric]{cursor:help}
.detail{position:fixed;left:1rem;bottom:1rem;max-width:min(92vw,44rem);margin:0;padding:.6rem 1rem;border-radius:.4rem;
  background:var(--court);color:var(--on-court);font-size:.95rem;z-index:4}
.detail:empty{display:none}
#one,#side{border:1px solid var(--rule);border-top:.28rem solid var(--clay);background:var(--card);border-radius:.3rem;padding:.2rem 1.2rem 1rem;margin:1rem 0}
#one h2,#side h2{border:0;margin:.8rem 0 .4rem;padding:0}
#one :is(th,td),#side :is(th,td){vertical-align:top}
@media screen{#one td,#side td{min-width:9.5rem}}
.strip-box{min-width:9rem}
@media (max-width:40rem){#controls{position:static}#table tbody th{white-space:normal}.trust{display:none}}
@media print{#controls,.tick,#detail,#more,#side:not(.print){display:none!important}@page{size:A4 landscape}
  #table{font-size:7.2pt;width:auto}#table thead th{position:static}.trust{display:none}
  #table :is(.unit,.part,.limits,.name){font-size:1em;white-space:normal}
  #table thead th button{display:inline!important}#table thead th button::after{display:none}
  /* heads stand upright, so that all columns find room on a sheet */
  #table thead th:not(:first-child){writing-mode:vertical-rl;text-align:left;max-height:32mm;padding:1mm .4mm}
  #table :is(th,td){min-width:0;max-width:24mm;padding-left:.5mm!important;padding-right:.5mm!important}
  #table tbody th{white-space:normal}#table tbody td{line-height:1.2}}
`;

/**
 * Sorts, searches, filters, sets ticked shoes side by side, opens a shoe's own section. Everything that
 * comes from the bench is put in as text; the only HTML parsed is the rest of the page's own table, escaped as its start is.
 */
export const CATALOGUE_SCRIPT = `"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const byId = new Map(data.shoes.map((shoe) => [shoe.id, shoe]));
  const $ = (id) => document.getElementById(id);
  const make = (tag, text, attributes = {}) => {
    const element = document.createElement(tag);
    if (text !== undefined && text !== null) element.textContent = text;
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    return element;
  };
  if (matchMedia("(max-width: 40rem)").matches) document.querySelector(".reading").open = false;
  const table = $("table");
  const body = table.tBodies[0];
  const plain = (text) => text.normalize("NFD").replace(/\\p{M}/gu, "").toLowerCase();
  // The first rows stand in the table; the others wait as text, a line each, and become rows when they are asked for.
  const waiting = ($("rest")?.textContent ?? "").split("\\n").filter((line) => line.startsWith("<tr id="));
  const first = [...body.rows];
  const found = data.shoes.map((shoe, index) => ({
    shoe, row: first[index] ?? null, line: waiting[index - first.length],
    text: plain([shoe.name, shoe.maker, shoe.court, shoe.width].join(" ")),
  }));
  const mould = document.createElement("template");
  const rowOf = (entry) => {
    if (entry.row === null) {
      mould.innerHTML = entry.line;
      entry.row = mould.content.firstElementChild;
    }
    return entry.row;
  };
  const tickOf = ({ row }) => row === null ? null : row.querySelector("input");
  // While the reader looks at the first ones, so that sorting need not wait for the others.
  const later = window.requestIdleCallback ?? ((work) => setTimeout(() => work({ timeRemaining: () => 8 }), 60));
  const build = (from) => later((spare) => {
    let at = from;
    while (at < found.length && spare.timeRemaining() > 2) rowOf(found[at++]);
    if (at < found.length) build(at);
  });
  build(first.length);

  // as many rows as are looked at
  const AT_ONCE = 60;
  let order = found;
  let listed = found;
  let drawn = first.length;
  const more = $("more");
  const say = () => {
    more.hidden = drawn >= listed.length;
    if (!more.hidden) more.firstChild.textContent = "The first " + drawn + " of " + listed.length + " shoes; more come as you scroll. ";
  };
  const draw = (to) => {
    const next = listed.slice(drawn, to);
    body.append(...next.map(rowOf));
    drawn += next.length;
    say();
  };
  const list = (entries) => {
    listed = entries;
    drawn = 0;
    body.replaceChildren();
    draw(AT_ONCE);
  };
  const all = make("button", "Show every row", { type: "button" });
  all.addEventListener("click", () => draw(Infinity));
  more.append("", all);
  addEventListener("beforeprint", () => draw(Infinity));
  new IntersectionObserver(([{ isIntersecting }], watch) => {
    if (!isIntersecting || more.hidden) return;
    draw(drawn + AT_ONCE);
    watch.unobserve(more);
    watch.observe(more);
  }, { rootMargin: "0px 0px 800px 0px" }).observe(more);
  say();

  // sorting
  const words = new Intl.Collator(document.documentElement.lang, { numeric: true, sensitivity: "base" });
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, column) => {
    const name = head.querySelector(".name");
    const button = make("button", name.textContent, { type: "button" });
    name.replaceChildren(button);
    head.setAttribute("aria-sort", "none");
    button.addEventListener("click", () => {
      const before = head.getAttribute("aria-sort");
      const numeric = head.classList.contains("number");
      const turn = before === "none" ? (numeric ? "descending" : "ascending") :
        before === (numeric ? "descending" : "ascending") ? (numeric ? "ascending" : "descending") : "none";
      for (const other of heads) other.setAttribute("aria-sort", "none");
      head.setAttribute("aria-sort", turn);
      const key = (row) => {
        const cell = row.cells[column];
        const text = cell.dataset.sort ?? cell.textContent.trim();
        if (text === "" || text === "–") return null;
        const number = Number(text);
        return Number.isNaN(number) ? text : number;
      };
      const keyed = found.map((entry) => ({ entry, key: turn === "none" ? null : key(rowOf(entry)) }));
      const sign = turn === "descending" ? -1 : 1;
      if (turn !== "none") keyed.sort((a, b) =>
        a.key === null || b.key === null ? (a.key === null) - (b.key === null) :
        sign * (typeof a.key === "number" && typeof b.key === "number" ? a.key - b.key : words.compare(a.key, b.key)));
      order = keyed.map(({ entry }) => entry);
      filter();
    });
  });

  // searching and filtering
  const value = (id) => $(id)?.value ?? "";
  const filter = () => {
    const wanted = plain(value("find")).split(/\\s+/).filter((word) => word !== "");
    const most = value("price") === "" ? Infinity : Number(value("price"));
    const fit = order.filter(({ shoe, text }) => wanted.every((word) => text.includes(word)) &&
        (value("court") === "" || shoe.court === value("court")) &&
        (value("width") === "" || shoe.width === value("width")) &&
        (value("maker") === "" || shoe.maker === value("maker")) &&
        (most === Infinity || (shoe.price !== null && shoe.price <= most)));
    if (fit.length !== listed.length || fit.some((entry, index) => entry !== listed[index])) list(fit);
    $("count").textContent = fit.length + " of " + found.length + " shoes";
  };
  const controls = $("controls");
  controls.hidden = false;
  controls.addEventListener("input", filter);
  controls.addEventListener("submit", (event) => event.preventDefault());
  controls.addEventListener("reset", () => setTimeout(() => {
    for (const entry of found) if (tickOf(entry)?.checked) tickOf(entry).checked = false;
    ticked();
    filter();
  }));
  filter();

  // a value with its limits
  const limits = (of, decimals) => of.lower === null || of.upper === null ? "noise unknown"
    : of.lower.toFixed(decimals) + " to " + of.upper.toFixed(decimals);
  const detailOf = (shoe, metric, of) => metric.title + " of " + shoe.name + ": " +
    (of.value === null ? of.words : of.value.toFixed(metric.decimals) + (metric.unit === "" || metric.unit.startsWith("°") ? "" : " ") + metric.unit + " (" + limits(of, metric.decimals) + "), " + of.words) +
    "; " + of.trials + (of.trials === 1 ? " trial" : " trials") + ", last benched " + of.on + "; the test is " + metric.trust;
  const tell = (event) => {
    const cell = event.target.closest("td[data-metric]");
    if (cell === null) { if (event.type === "click") $("detail").textContent = ""; return; }
    const shoe = byId.get(cell.parentElement.dataset.id);
    const at = data.metrics.findIndex(({ id }) => id === cell.dataset.metric);
    $("detail").textContent = detailOf(shoe, data.metrics[at], shoe.values[at]);
  };
  body.addEventListener("click", tell);
  body.addEventListener("pointerover", (event) => { if (event.pointerType === "mouse") tell(event); });
  body.addEventListener("pointerleave", () => { $("detail").textContent = ""; });
  addEventListener("keydown", (event) => { if (event.key === "Escape") $("detail").textContent = ""; });

  // a strip: the catalogue in grey, the shoes' intervals in front
  const SVG = "http://www.w3.org/2000/svg";
  const strip = (all, marked, says) => {
    const values = all.filter((x) => x !== null && x.value !== null);
    const low = Math.min(...values.map((x) => x.lower ?? x.value));
    const high = Math.max(...values.map((x) => x.upper ?? x.value));
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("viewBox", "0 0 200 " + (8 + 10 * marked.length));
    svg.setAttribute("width", "200");
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", says);
    if (!(high > low)) return svg;
    const x = (v) => 5 + 190 * (v - low) / (high - low);
    const line = (x1, y1, x2, y2, colour, width) => {
      const l = document.createElementNS(SVG, "line");
      for (const [k, v] of Object.entries({ x1, y1, x2, y2, stroke: colour, "stroke-width": width })) l.setAttribute(k, v);
      svg.append(l);
    };
    for (const v of values) line(x(v.value), 0, x(v.value), 5, "currentColor", .6);
    marked.forEach((of, i) => {
      if (of === null || of.value === null) return;
      const y = 12 + 10 * i;
      if (of.lower !== null) line(x(of.lower), y, x(of.upper), y, "var(--clay)", 2);
      line(x(of.value), y - 4, x(of.value), y + 4, "var(--clay)", 3);
    });
    return svg;
  };
  // a date never breaks
  const cellOf = (text) => {
    const cell = make("td");
    cell.append(...text.split(/(\\d{4}-\\d\\d-\\d\\d)/).map((part, i) => i % 2 ? make("span", part, { class: "nowrap" }) : part));
    return cell;
  };
  const rowsFor = (shoes) => {
    const grid = make("table");
    const top = grid.createTHead().insertRow();
    top.append(make("th", "", { scope: "col" }), ...shoes.map(({ name }) => make("th", name, { scope: "col" })), make("th", "Where in the table", { scope: "col" }));
    top.cells[0].textContent = "What";
    const under = grid.createTBody();
    const add = (title, cells, picture) => {
      const row = under.insertRow();
      row.append(make("th", title, { scope: "row" }), ...cells.map(cellOf));
      const last = make("td", undefined, { class: "strip-box" });
      if (picture) last.append(picture);
      row.append(last);
    };
    const numbers = (title, unit, decimals, all, own) => add(
      title + (unit === "" ? "" : ", " + unit),
      own.map((of) => of === null ? "–" : of.value === null ? of.words : of.value.toFixed(decimals) + " (" + limits(of, decimals) + ")" +
        (of.words ? ", " + of.words : "") + (of.trials ? "; " + of.trials + (of.trials === 1 ? " trial, " : " trials, ") + of.on : "")),
      own.some((of) => of !== null && of.value !== null) ? strip(all, own, title + ": where " + shoes.map(({ name }) => name).join(" and ") + " stand among all shoes") : null);
    if (data.rule !== null) {
      numbers("Index", "", data.decimals, data.shoes.map((s) => s.index), shoes.map((s) => s.index));
      add("Place", shoes.map(({ place }) => place));
      add("Can't be told apart from", shoes.map(({ alike: { count, first } }) => count === 0 ? "no other shoe" : count + (count === 1 ? " shoe: " : " shoes: ") +
        first.map((id) => byId.get(id)?.name ?? id).join(", ") + (count > first.length ? " and " + (count - first.length) + " more" : "")));
    }
    data.metrics.forEach((metric, i) => numbers(metric.title, metric.unit, metric.decimals, data.shoes.map((s) => s.values[i]), shoes.map((s) => s.values[i])));
    data.attributes.forEach((attribute, i) => numbers(attribute.title + " on court", "", 1, data.shoes.map((s) => s.ratings[i]), shoes.map((s) => s.ratings[i])));
    add("Court", shoes.map(({ court }) => court ?? "–"));
    add("Width", shoes.map(({ width }) => width ?? "–"));
    add("Price", shoes.map(({ price, currency }) => price === null ? "–" : price + " " + (currency ?? "")));
    return grid;
  };

  // into sight, below the controls where these stay on top
  const bring = (section) => {
    section.style.scrollMarginTop = getComputedStyle(controls).position === "sticky" ? controls.offsetHeight + 8 + "px" : "0";
    section.scrollIntoView();
  };

  // side by side
  const ticked = () => {
    const chosen = found.filter((entry) => tickOf(entry)?.checked);
    $("compare").disabled = chosen.length < 2 || chosen.length > 6;
    $("compare").textContent = chosen.length > 6 ? "Six shoes at the most" : "Set " + (chosen.length < 2 ? "ticked" : chosen.length) + " shoes side by side";
    if (chosen.length < 2) $("side").hidden = true;
    return chosen;
  };
  body.addEventListener("change", ticked);
  $("compare").addEventListener("click", () => {
    const shoes = ticked().map(({ shoe }) => shoe);
    $("side").hidden = false;
    $("side").querySelector(".scroll").replaceChildren(rowsFor(shoes),
      make("p", "On the right the shoes stand in the order of their columns, the first on top. Where two intervals overlap widely, these shoes can't be told apart on that line."));
    bring($("side"));
  });

  // a shoe's own section
  const open = () => {
    const id = decodeURIComponent(location.hash.slice(1));
    const shoe = byId.get(id);
    $("one").hidden = shoe === undefined;
    if (shoe === undefined) return;
    const scroll = make("div", undefined, { class: "scroll", tabindex: "0", role: "region", "aria-label": shoe.name });
    scroll.append(rowsFor([shoe]));
    $("one").replaceChildren(make("h2", shoe.name), scroll);
    bring($("one"));
  };
  addEventListener("hashchange", open);
  open();
})();
`;
