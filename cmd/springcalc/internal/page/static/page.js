"use strict";
// The page's own script. It asks the program, puts the answers' HTML where they
// belong and draws the curves. It has no numbers and no words of its own.
const body = document.body, root = document.documentElement, T = JSON.parse(body.dataset.texts);
const $ = id => document.getElementById(id), all = (q, in_ = document) => [...in_.querySelectorAll(q)];
const css = name => getComputedStyle(root).getPropertyValue(name).trim();
const stored = "stored" in body.dataset;
const state = {
  sheet: body.dataset.sheet, saved: body.dataset.sheet, // text as changed, and as in the file
  tries: {}, kept: {}, files: {}, knobs: [], units: "", dark: matchMedia("(prefers-color-scheme: dark)").matches,
};
const el = (tag, props = {}, ...kids) => {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(props)) k in e ? e[k] = v : e.setAttribute(k, v);
  e.append(...kids);
  return e;
};
const num = (v, digits) => v.toFixed(digits).replace("-", "−");
const grouped = n => n.toLocaleString("en").replaceAll(",", "\u202f");
const clock = () => new Date().toLocaleTimeString([], {hour: "2-digit", minute: "2-digit"});

/* ---- asking the program ---- */
let answeredAt = clock();
async function send(path, data, signal) {
  let r;
  try {
    r = await fetch(path, {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify(data), signal});
  } catch (e) {
    if (e.name !== "AbortError") lost(true);
    throw e;
  }
  lost(false);
  if (!r.ok) throw new Error(await r.text());
  return r;
}
// got is an answer; before it may stand lines that say how far it is.
async function got(path, data, signal, told) {
  const reader = (await send(path, data, signal)).body.pipeThrough(new TextDecoderStream()).getReader();
  for (let text = "";;) {
    const {done, value} = await reader.read().catch(e => { if (e.name !== "AbortError") lost(true); throw e; });
    if (done) return JSON.parse(text);
    const lines = (text + value).split("\n");
    text = lines.pop();
    if (lines.length) told?.(JSON.parse(lines.pop()));
  }
}
function lost(is) {
  if ($("lost").hidden === !is) return;
  $("lost").hidden = !is;
  body.classList.toggle("stale", is);
  if (is) $("lost").firstElementChild.textContent = T.gone + " " + T.lost + answeredAt + ".";
  for (const q of Object.values(questions)) if (is && q.said.classList.contains("busy")) q.say("");
}
async function alive() {
  try { lost(!(await fetch("alive")).ok); } catch { lost(true); }
}
setInterval(() => document.hidden || alive(), 4000);
$("again").onclick = async () => { await alive(); if ($("lost").hidden) askAll(); };

/* ---- one question ---- */
const questions = {};
class Question {
  constructor(section) {
    this.box = section; this.id = section.id; this.live = "live" in section.dataset; this.charts = {};
    this.takes = section.dataset.takes.split(" ").filter(Boolean);
    this.said = section.querySelector(".state"); this.answer = section.querySelector(".answer"); this.curves = section.querySelector(".curves");
    all("[data-kind]", section).forEach(b => b.onclick = () => this.download(b.dataset.kind, b));
    section.querySelector(".copy").onclick = e => { navigator.clipboard?.writeText(section.querySelector("code").textContent); e.target.textContent = T.copied; };
    const visit = section.querySelector(".visit");
    if (visit) visit.onsubmit = e => { e.preventDefault(); inTurn(async () => {
      const a = await got("visit", {sheet: state.sheet, values: Object.fromEntries(new FormData(visit))});
      if (a.faults) return this.wrong(a);
      visit.reset();
      await replaced(a.sheet);
    }); };
    const params = section.querySelector(".params:not(.visit)");
    if (params) params.onsubmit = e => { e.preventDefault(); this.ask(); };
    section.addEventListener("change", e => { if (e.target.name === "pick" && e.target.type === "radio") this.choose(e.target.value); });
    section.addEventListener("click", e => { if (!e.target.closest("label")) e.target.closest("tr")?.querySelector("input[type=radio]")?.click(); });
    const keep = section.querySelector(".keep");
    if (keep) keep.onclick = () => {
      const same = JSON.stringify(state.kept) === JSON.stringify(state.tries);
      state.kept = same ? {} : {...state.tries};
      keep.textContent = same ? T.keep : T.unkeep;
      this.ask();
    };
  }
  request() {
    const params = this.pick ? {pick: this.pick} : {};
    all(".params:not(.visit) input", this.box).forEach(i => { if (i.value.trim()) params[i.name] = i.value; });
    const files = {};
    this.takes.forEach(k => { if (state.files[k]) files[k] = state.files[k]; });
    return {question: this.id, sheet: state.sheet, params, files, units: state.units, dark: state.dark, ...(this.live ? {tries: state.tries, kept: state.kept} : {})};
  }
  say(text, cls = "") {
    if (cls === "busy" && !$("lost").hidden) return;
    this.said.hidden = !text; this.said.className = "state " + cls; this.said.textContent = text;
  }
  // A change while an answer is under way is asked when that is there: nothing queues.
  follow() {
    this.wanted = true;
    clearTimeout(this.rest);
    this.full?.abort();
    this.rest = setTimeout(() => this.ask(), 350);
    if (this.moving) return;
    this.moving = (async () => {
      while (this.wanted) {
        this.wanted = false;
        try { this.show(await got("ask", {...this.request(), quick: true})); } catch { break; }
      }
      this.moving = null;
    })();
  }
  async ask() {
    clearTimeout(this.rest);
    this.full?.abort();
    this.full = new AbortController();
    const {signal} = this.full, words = () => this.live && !this.answer.hidden ? T.busy : T.asking, busy = setTimeout(() => this.say(words() + " …", "busy"), 500);
    signal.addEventListener("abort", () => clearTimeout(busy));
    const told = p => { if (p.made && !signal.aborted) this.say(`${words()}: ${grouped(p.made)} ${p.of ? T.of + " " + grouped(p.of) : ""} ${T.draws}`, "busy"); };
    try {
      const a = await got("ask", this.request(), signal, told);
      if (!signal.aborted) this.show(a);
    } catch (e) {
      if (e.name !== "AbortError" && $("lost").hidden) this.say(e.message, "wrong");
    } finally { clearTimeout(busy); }
  }
  // choose draws a row of the ranking, and has it ordered.
  async choose(row) {
    this.pick = row;
    const a = await got("ask", {...this.request(), quick: true});
    if (this.pick !== row) return; // another was chosen meanwhile
    if (a.faults) return this.wrong(a);
    draw(this, a.charts);
    this.box.querySelector("code").textContent = a.line;
    const order = questions.order;
    order.box.querySelector("[name=pick]").value = row;
    order.due = true;
    if (order.near) { order.due = false; inLine(order); }
  }
  show(a) {
    if (a.faults) return this.wrong(a);
    if (!a.quick) { this.say(""); if (this.live) faults([], state.odd = a.odd); }
    answeredAt = clock();
    this.box.classList.remove("stale");
    this.answer.hidden = false;
    all(".part", this.answer).forEach(p => { const html = a[p.dataset.part]; if (html !== undefined && html !== p.shown) p.innerHTML = p.shown = html; else if (html === undefined && !a.quick) p.innerHTML = p.shown = ""; });
    this.box.querySelector("code").textContent = a.line;
    draw(this, a.charts || [], a.quick);
    if (this.live) {
      if (JSON.stringify(a.knobs) !== JSON.stringify(state.knobs)) knobs(a.knobs);
      for (const k of state.knobs) parts[k.id].hint.textContent = a.hints?.[k.id] || "";
      $("mini").firstElementChild.innerHTML = a.mini;
      $("caution").textContent = a.caution;
      $("doubts").textContent = a.doubts + " " + (a.doubts === 1 ? T.doubt : T.manyDoubts);
      body.classList.remove("none");
    }
  }
  wrong(a) {
    this.box.classList.toggle("stale", !this.answer.hidden);
    if (this.live) faults(a.faults, state.odd);
    const named = f => field(f.path)?.querySelector("label").textContent || f.path, lines = a.faults.map(f => (f.path ? named(f) + ": " : "") + f.text);
    if (a.empty && !(this.live && !this.answer.hidden)) {
      this.say(this.live ? T.empty : T.needs, "empty");
      this.answer.hidden = true;
      if (this.live) body.classList.add("none");
      else if (lines.length > 1) return; // the shot names them all
    } else this.say(a.empty ? T.needs : this.answer.hidden || !this.live ? "" : T.wrong, a.empty ? "empty" : "wrong");
    this.said.hidden = false;
    this.said.append(el("ul", {}, ...lines.map(l => el("li", {}, l))));
    const first = a.faults.map(f => field(f.path)).find(Boolean);
    if (first) this.said.append(el("a", {href: "#sheet", onclick: e => { e.preventDefault(); first.closest("details")?.setAttribute("open", ""); first.querySelector(".v").focus(); }}, a.empty ? T.fill : T.goTo));
  }
  async download(kind, button) {
    try {
      const r = await send("file", {...this.request(), kind});
      if (r.headers.get("Content-Type").startsWith("application/json") && kind !== "json") return this.wrong(await r.json());
      const url = URL.createObjectURL(await r.blob());
      if (kind === "html") open(url, "_blank");
      else give(url, /filename="(.*)"/.exec(r.headers.get("Content-Disposition"))[1]);
      button.closest("details")?.removeAttribute("open");
    } catch (e) { if ($("lost").hidden) this.say(e.message, "wrong"); }
  }
}
function give(url, name) { el("a", {href: url, download: name}).click(); }
// What does not follow the hand is asked one after the other.
let line = Promise.resolve();
const inLine = q => { line = line.then(() => q.ask()); };
function askAll() {
  for (const q of Object.values(questions)) {
    q.pick = "";
    if (q.live) q.follow();
    else if (q.near) inLine(q);
    else q.due = true;
  }
}

/* ---- curves ---- */
const FONT = () => "13px " + getComputedStyle(body).fontFamily;
const phone = () => innerWidth < 720;
const capital = s => s[0].toUpperCase() + s.slice(1);
const withUnit = (name, unit) => capital(name) + (unit ? ", " + unit : "");
// nudged makes x rise where it stands still, at a jump.
const nudged = xs => { const out = xs.slice(); for (let i = 1; i < out.length; i++) if (out[i] <= out[i - 1]) out[i] = out[i - 1] + 1e-9 * Math.max(1, Math.abs(out[i - 1])); return out; };
function joined(c) {
  const cut = ys => c.top ? ys.map(y => y > c.top ? null : y) : ys;
  const b = c.band || {x: [c.series[0].x[0]], low: [null], high: [null]};
  const tables = [[nudged(b.x), b.low, b.high]];
  for (const s of c.series) tables.push([nudged(s.x), cut(s.y)]);
  return uPlot.join(tables, tables.map(t => t.map(() => 1)));
}
function range(values, zero, most) {
  let lo = Math.min(...values), hi = Math.max(...values);
  if (zero) { if (lo > -.03 * hi) lo = 0; hi = Math.max(hi, 0); }
  if (!(hi > lo)) hi = lo + 1;
  const ten = 10 ** Math.floor(Math.log10((hi - lo) / most)), step = [1, 2, 5, 10, 20].map(f => f * ten).find(s => Math.ceil(hi / s - 1e-9) - Math.floor(lo / s + 1e-9) <= most);
  return [Math.floor(lo / step + 1e-9) * step, Math.ceil(hi / step - 1e-9) * step];
}
const wide = (a, b) => b ? [Math.min(a[0], b[0]), Math.max(a[1], b[1])] : a;
function draw(q, charts, quick) {
  const shape = JSON.stringify(charts.map(c => [c.key, c.unit, c.x_unit, c.series.map(s => s.style)]));
  const xs = {}; // charts with one x axis share it
  for (const c of charts) {
    const key = c.x_name + c.x_unit, r = range([...c.series.flatMap(s => s.x), ...(c.band?.x || [])], c.zero, 10);
    xs[key] = wide(r, xs[key]);
    if (quick && q.xs?.[key]) xs[key] = wide(xs[key], q.xs[key]); // axes only grow while the hand moves
  }
  q.xs = xs;
  if (shape !== q.shape || q.theme !== state.dark) {
    Object.values(q.charts).forEach(u => u.destroy());
    q.curves.replaceChildren(); q.charts = {}; q.shape = shape; q.theme = state.dark;
    charts.forEach((c, i) => panel(q, c, i, charts));
  }
  for (const c of charts) {
    const u = q.charts[c.key];
    if (u.key) key(u.key, c);
    u.chart = c;
    const ys = c.series.flatMap(s => s.y).concat(c.band?.low || [], c.band?.high || []).filter(y => !c.top || y <= c.top);
    const y = range(ys, c.zero, 5);
    u.ys = quick ? wide(y, u.ys) : y;
    u.xs = xs[c.x_name + c.x_unit];
    u.setData(joined(c));
  }
}
function panel(q, c, i, charts) {
  const last = i === charts.length - 1 || charts[i + 1].x_name !== c.x_name, first = i === 0 || charts[i - 1].x_name !== c.x_name;
  const read = el("output", {}), box = el("div", {className: "plot"});
  const legend = first ? el("p", {className: "key"}) : null;
  if (first) q.curves.append(legend);
  q.curves.append(el("div", {className: "panel"}, el("div", {className: "ptitle"}, el("h3", {}, withUnit(c.name, c.unit), c.beyond ? el("small", {}, c.beyond) : ""), read), box));
  if (last) q.curves.append(el("p", {className: "axis"}, withUnit(c.x_name, c.x_unit)));
  const tall = () => first ? (phone() ? 190 : 240) : c.band ? (phone() ? 130 : 148) : (phone() ? 92 : 108);
  const axis = {stroke: css("--soft"), grid: {stroke: css("--line"), width: 1}, ticks: {stroke: css("--line"), width: 1, size: 5}, font: FONT(), gap: 4};
  const edge = {stroke: css("--try"), width: .75, points: {show: false}};
  let n = 0;
  const lines = c.series.map(s => s.style === "points" ? {stroke: css("--ink"), paths: () => null, points: {show: true, size: s.x.length > 40 ? 5 : 9, width: s.x.length > 40 ? 1 : 2, stroke: css("--ink"), fill: css("--paper")}}
    : s.style === "dashed" ? {stroke: css("--soft"), width: 2, dash: [7, 5], points: {show: false}}
    : n++ ? {stroke: css("--ink"), width: 1.5, dash: [[11, 4, 2, 4], [2, 4]][n % 2], points: {show: false}} : {stroke: css("--try"), width: 3, points: {show: false}});
  const u = q.charts[c.key] = new uPlot({
    width: Math.max(200, q.curves.clientWidth), height: tall(), pxAlign: 0, padding: [first ? 26 : 8, 16, 0, 0], legend: {show: false},
    cursor: {y: false, drag: {x: false, y: false}, points: {size: 9, fill: css("--paper")}, sync: {key: q.id + c.x_name}},
    scales: {x: {time: false, range: u => u.xs || [0, 1]}, y: {range: u => u.ys || [0, 1]}},
    axes: [{...axis, size: last ? 28 : 4, values: last ? (u, v) => v.map(x => String(+x.toFixed(6))) : () => [], space: 50}, {...axis, size: 44, space: 30, values: (u, v) => v.map(x => String(+x.toFixed(6)).replace("-", "−"))}],
    series: [{}, edge, edge, ...lines], bands: [{series: [2, 1], fill: css("--band")}],
    hooks: {
      draw: [u => marks(u, u.chart, first)],
      setCursor: [u => { const i = u.cursor.idx; read.textContent = i == null ? "" : num(u.data[0][i], 1) + " " + u.chart.x_unit + ": " + u.chart.series.map((s, n) => at(s, u.data[0][i])).filter(Boolean).join(" / "); }],
    },
  }, [[0], [null], [null], ...c.series.map(() => [null])], box);
  u.tall = tall; u.key = legend;
  u.root.setAttribute("role", "img");
  u.root.setAttribute("aria-label", withUnit(c.name, c.unit) + ". " + T.curves);
}
function at(s, x) {
  const i = s.x.findIndex(v => v >= x);
  if (i < 0 || x < s.x[0] || s.style === "points") return "";
  const a = Math.max(0, i - 1), f = s.x[i] > s.x[a] ? (x - s.x[a]) / (s.x[i] - s.x[a]) : 1;
  return num(s.y[a] + f * (s.y[i] - s.y[a]), 2);
}
function key(k, c) {
  k.replaceChildren();
  const add = (cls, text) => k.append(el("span", {className: "k"}, el("i", {className: cls}), text));
  let n = 0;
  if (c.series.length > 1) for (const s of c.series) add(s.style === "points" ? "dot" : "l " + (s.style === "dashed" ? "today" : ["try", "other", "third"][n++]), s.name);
  if (c.band) add("l band", c.band.name);
}
// marks draws events with their words, and the bracket of the end.
function marks(u, c, words) {
  if (!c) return;
  const {ctx, bbox: b} = u, r = devicePixelRatio;
  ctx.save();
  ctx.font = FONT().replace("13px", 13 * r + "px"); ctx.strokeStyle = ctx.fillStyle = css("--ink");
  const list = (c.marks || []).map(m => ({...m, px: u.valToPos(m.x, "x", true)})), taken = [];
  list.forEach((m, i) => {
    ctx.lineWidth = r; ctx.setLineDash([r, 3 * r]); ctx.beginPath(); ctx.moveTo(m.px, b.top); ctx.lineTo(m.px, b.top + b.height); ctx.stroke();
    if (!words) return;
    const w = ctx.measureText(m.name).width, near = list[i + 1] && list[i + 1].px - m.px < w;
    const spot = (near ? [m.px - w, m.px - w / 2] : [m.px - w / 2, m.px + 3 * r, m.px - w]).map(x => Math.max(b.left, Math.min(x, b.left + b.width - w))).find(x => taken.every(t => x > t[1] + 5 * r || x + w < t[0] - 5 * r));
    if (spot === undefined) return;
    taken.push([spot, spot + w]);
    ctx.textAlign = "left"; ctx.fillText(m.name, spot, b.top - 7 * r);
  });
  if (c.ends && words) {
    const y = b.top + b.height - 12 * r, x0 = u.valToPos(c.ends.low, "x", true), x1 = u.valToPos(c.ends.high, "x", true);
    ctx.setLineDash([]); ctx.lineWidth = 2 * r; ctx.strokeStyle = css("--try"); ctx.beginPath();
    for (const x of [x0, x1]) { ctx.moveTo(x, y - 6 * r); ctx.lineTo(x, y + 6 * r); }
    ctx.moveTo(x0, y); ctx.lineTo(x1, y); ctx.stroke();
    ctx.textAlign = "right"; ctx.fillText(`${T.ends} ${num(c.ends.low, 0)} ${T.to} ${num(c.ends.high, 0)} ${c.x_unit}`, x0 - 8 * r, y + 4.5 * r);
  }
  ctx.restore();
}

/* ---- what is tried ---- */
const parts = {};
function knobs(list) {
  state.knobs = list;
  const which = $("which").value;
  $("which").replaceChildren(...list.map(k => el("option", {value: k.id}, k.name)));
  if (list.some(k => k.id === which)) $("which").value = which;
  const shown = k => num(k.id in state.tries ? state.tries[k.id] : k.home, k.digits) + (k.unit ? " " + k.unit : "");
  $("knobs").replaceChildren(...list.map(k => {
    const out = el("output", {htmlFor: "k-" + k.id}), hint = el("span"), was = el("span");
    const slider = el("input", {type: "range", id: "k-" + k.id, min: k.min, max: k.max, step: k.step});
    const box = el("div", {className: "knob", id: "box-" + k.id});
    const put = () => {
      const off = k.id in state.tries, place = v => `${100 * (v - k.min) / (k.max - k.min)}%`, now = off ? state.tries[k.id] : k.home;
      slider.value = now; out.textContent = shown(k);
      slider.setAttribute("aria-valuetext", shown(k));
      box.classList.toggle("off", off);
      was.textContent = off ? T.ofSheet + " " + num(k.home, k.digits) + (k.unit ? " " + k.unit : "") : "";
      if (!off) hint.textContent = "";
      slider.style.setProperty("--home", place(k.home)); slider.style.setProperty("--lo", place(Math.min(now, k.home))); slider.style.setProperty("--hi", place(Math.max(now, k.home)));
    };
    const set = v => {
      v = +Math.max(k.min, Math.min(k.max, v)).toFixed(6);
      if (Math.abs(v - k.home) < k.step / 2) delete state.tries[k.id]; else state.tries[k.id] = v;
      put(); tried();
    };
    slider.oninput = () => set(+slider.value);
    const hold = d => {
      let t;
      const b = el("button", {type: "button", ariaLabel: k.name + ": " + (d < 0 ? T.less : T.more), onclick: () => set(+slider.value + d * k.step)}, d < 0 ? "−" : "+");
      b.onpointerdown = () => t = setTimeout(() => t = setInterval(b.onclick, 90), 400);
      b.onpointerup = b.onpointerleave = b.onpointercancel = () => { clearTimeout(t); clearInterval(t); };
      return b;
    };
    box.append(el("div", {className: "top1"}, el("div", {className: "lab"}, el("label", {htmlFor: "k-" + k.id}, k.name), out), el("div", {className: "hint"}, hint, was)), el("div", {className: "move"}, hold(-1), slider, hold(1)));
    parts[k.id] = {put, hint};
    put();
    return box;
  }));
  $("which").onchange();
}
$("which").onchange = () => state.knobs.forEach(k => $("box-" + k.id).classList.toggle("on", k.id === $("which").value));
function tried() {
  const any = Object.keys(state.tries).length > 0;
  $("back").disabled = $("put").disabled = !any;
  questions.shot.follow();
}
$("back").onclick = () => { state.tries = {}; state.knobs.forEach(k => parts[k.id].put()); tried(); $("which").focus(); };
$("put").onclick = () => change({tries: state.tries, units: state.units}, () => { state.tries = {}; state.kept = {}; });

/* ---- the sheet ---- */
const field = path => path ? all(".f", $("form")).find(f => [path, path.replace("[1]", "")].includes(f.dataset.path)) : null;
function faults(list, odd = []) {
  all(".f .err").forEach(e => { e.parentNode.classList.remove("bad"); e.remove(); });
  all(".f [aria-describedby*=' ']").forEach(v => { v.removeAttribute("aria-invalid"); v.setAttribute("aria-describedby", v.getAttribute("aria-describedby").split(" ")[0]); });
  for (const f of [...list, ...odd]) {
    const box = field(f.path);
    if (!box) continue;
    box.closest("details")?.setAttribute("open", "");
    const id = "e-" + f.path;
    const doubt = odd.includes(f), v = box.querySelector(".v");
    box.append(el("p", {className: f.missing || doubt ? "err need" : "err", id}, (doubt ? T.odd + " " : "") + f.text));
    v.setAttribute("aria-describedby", "h-" + box.dataset.path + " " + id);
    if (f.missing || doubt) continue;
    box.classList.add("bad");
    v.setAttribute("aria-invalid", "true");
  }
}
function dirty(said) {
  const is = state.sheet !== state.saved;
  $("saved").textContent = said || (is ? T.unsaved : body.dataset.name);
  body.classList.toggle("dirty", is);
}
// Changes of the sheet come one after the other, each to what the one before has left.
let turn = Promise.resolve();
const inTurn = f => turn = turn.then(f, f);
const change = (what, then, shown) => inTurn(() => changed(what, then, shown));
// changed sends a change of the sheet; where it is refused the last good sheet stays.
async function changed(what, then, shown) {
  const a = await got("sheet", {sheet: state.sheet, ...what});
  if (a.faults) {
    faults(a.faults);
    questions.shot.wrong({faults: a.faults});
    $("saved").textContent = T.unsaved;
    return;
  }
  then?.();
  state.sheet = $("text").value = a.sheet;
  if (what.path && !a.rows) field(what.path)?.classList.toggle("empty", !what.value);
  else {
    const {id} = document.activeElement;
    $("form").innerHTML = a.form;
    shown ? shown() : $(id)?.focus();
  }
  $("title").textContent = document.title = a.title || body.dataset.name;
  dirty(a.anew ? T.unsaved + ". " + T.anew : "");
  faults([], state.odd = a.odd);
  state.knobs.forEach(k => parts[k.id].put());
  $("back").disabled = $("put").disabled = !Object.keys(state.tries).length;
  prefill();
  askAll();
}
$("form").addEventListener("change", e => {
  const box = e.target.closest(".f");
  if (!box) return;
  change({path: box.dataset.path, value: box.querySelector(".v").value, unit: box.dataset.unit, plus: box.querySelector(".p")?.value || ""});
});
$("form").onsubmit = e => e.preventDefault();
$("form").addEventListener("click", e => {
  const {table, row} = e.target.dataset, last = () => all(`[data-table="${table}"]`, $("form")).at(-2)?.dataset.row;
  if (table) change({table, row: +row}, () => {}, () => all(".f", $("form")).find(f => f.dataset.path.startsWith(`${table}[${last()}]`) || f.dataset.path.startsWith(table + "."))?.querySelector(".v").focus());
});
function replaced(text) { state.sheet = text; state.tries = {}; state.kept = {}; return changed({}); }
const take = text => inTurn(() => replaced(text));
$("readtext").onclick = () => take($("text").value);
// another sheet than that of the file is never saved over it.
function another() {
  for (const q of Object.values(questions)) q.answer.hidden = true;
  state.other = state.saved !== ""; $("save").textContent = stored && !state.other ? T.save : T.saveAs;
}
$("new").onclick = () => { another(); take(""); };
$("kin").onclick = () => change({kin: true}, () => { another(); state.tries = {}; state.kept = {}; });
$("units").onchange = () => { state.units = $("units").value; state.tries = {}; state.kept = {}; state.knobs = []; askAll(); };
async function save() {
  if (!stored || state.other) {
    give(URL.createObjectURL(new Blob([state.sheet], {type: "application/toml"})), "machine.toml");
    state.saved = state.sheet;
    return dirty(T.savedFile);
  }
  let over = false;
  for (;;) {
    const a = await got("save", {old: state.saved, sheet: state.sheet, over});
    if (a.faults) return faults(a.faults), questions.shot.wrong(a);
    if (a.saved) { state.saved = state.sheet; return dirty(T.saved + ": " + body.dataset.name); }
    if (over || !confirm(T.over)) return;
    over = true;
  }
}
$("save").onclick = () => inTurn(save).catch(e => { if ($("lost").hidden) $("saved").textContent = e.message; });
onbeforeunload = e => { if (state.sheet !== state.saved) e.preventDefault(); };
// prefill puts the sheet's values into what a question asks beside it.
function prefill() {
  all(".params input[data-key]").forEach(i => {
    const box = field(i.dataset.key), v = box?.querySelector(".v").value, unit = box?.dataset.unit;
    if (v && !i.touched) i.value = v + (unit && /[\d.]$/.test(v) ? " " + unit : "");
    i.oninput = () => i.touched = true;
  });
}

/* ---- files ---- */
async function taken(file) {
  if (!file) return;
  const text = await file.text(), said = $("filesaid");
  said.hidden = false;
  try {
    const a = await got("read", {name: file.name, text});
    said.className = "state" + (a.faults ? " wrong" : "");
    said.textContent = a.faults ? a.faults.map(f => f.text).join("\n") : T.read + " " + a.said;
    if (a.faults) return;
    if (a.kind === "sheet") return another(), take(text);
    state.files[a.kind] = {name: file.name, text};
    const asked = Object.values(questions).filter(q => q.takes.includes(a.kind)), again = () => asked.forEach(q => { q.pick = ""; q.ask(); });
    said.append(" ", el("button", {type: "button", onclick: () => { delete state.files[a.kind]; said.hidden = true; again(); }}, T.forget));
    again();
    asked[asked.length - 1]?.box.scrollIntoView();
  } catch (e) { said.className = "state wrong"; said.textContent = e.message; }
}
$("file").onchange = () => { taken($("file").files[0]); $("file").value = ""; };
addEventListener("dragover", e => { e.preventDefault(); body.classList.add("over"); });
addEventListener("dragleave", () => body.classList.remove("over"));
addEventListener("drop", e => { e.preventDefault(); body.classList.remove("over"); taken(e.dataTransfer.files[0]); });

/* ---- the frame ---- */
function theme(dark) {
  state.dark = dark;
  root.classList.toggle("dark", dark);
  $("look").textContent = dark ? T.light : T.dark;
  $("look").setAttribute("aria-pressed", dark);
}
$("look").onclick = () => { theme(!state.dark); for (const q of Object.values(questions)) if (!q.answer.hidden) q.ask(); };
theme(state.dark);
all("[data-question]").forEach(s => questions[s.id] = new Question(s));
new ResizeObserver(() => { for (const q of Object.values(questions)) for (const u of Object.values(q.charts)) if (q.curves.clientWidth) u.setSize({width: q.curves.clientWidth, height: u.tall()}); }).observe($("answers"));
const near = new IntersectionObserver(es => es.forEach(e => {
  const q = questions[e.target.id];
  q.near = e.isIntersecting;
  if (q.near && q.due && !q.live) { q.due = false; inLine(q); }
}), {rootMargin: "200px 0px"});
const inSight = new Set();
const spy = new IntersectionObserver(es => {
  es.forEach(e => inSight[e.isIntersecting ? "add" : "delete"](e.target));
  const here = all("main > section").find(s => inSight.has(s));
  all("nav a").forEach(a => here && a.hash === "#" + here.id ? a.setAttribute("aria-current", "true") : a.removeAttribute("aria-current"));
}, {rootMargin: "-20% 0px -75% 0px"});
all("main > section").forEach(s => { spy.observe(s); if (questions[s.id]) near.observe(s); });
new IntersectionObserver(es => body.classList.toggle("away", !es[0].isIntersecting), {rootMargin: "-30% 0px -30% 0px"}).observe($("shot"));
$("text").value = state.sheet;
prefill();
askAll();
