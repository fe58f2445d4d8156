"use strict";
// The Now window. What there is to say comes ready from the daemon; this puts it in
// its place, keeps the ages going, draws the strip, and sends Stop.
(() => {
  const $ = (id) => document.getElementById(id);
  const text = (id, value) => { const at = $(id); if (at.textContent !== value) at.textContent = value; };
  const show = (id, yes) => { $(id).hidden = !yes; };
  const LATE = 1000, STALE = 3000;

  const noLinkIcon = "data:image/svg+xml," + encodeURIComponent('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 48 48"><rect width="48" height="48" rx="8" fill="#f2f2f2"/><circle cx="24" cy="24" r="16" fill="none" stroke="#101010" stroke-width="6" stroke-dasharray="8 8.75"/></svg>');
  let view = null, heard = 0, linked = false, spoken = 0, alarmed = "";

  // ---- the present moment
  function apply(next) {
    const before = view;
    view = next; heard = performance.now();
    if (!linked) { linked = true; link(); }
    document.title = next.title;
    document.body.className = next.band.fill + (next.notices.length ? " noticed" : "") + (next.question ? " asks" : "") + (next.trip && !next.question ? " trips" : "");
    document.body.dataset.state = next.state;
    text("word", next.band.word); text("caption", next.band.caption); text("right", next.band.right); text("beneath", next.band.beneath);
    $("word").classList.toggle("long", next.band.word.length > 9);
    $("shape").setAttribute("href", "#" + next.band.shape);
    figure("volts", next.volts); figure("amperes", next.amperes);
    show("amperes", !next.lid); show("lid", !!next.lid);
    if (next.lid) lid(next.lid);
    field(next.field); slabs(next);
    facts("behaves", next.behaves); facts("bench", next.bench); foot(next.foot);
    list("findings", next.findings.length ? next.findings : ["None."]);
    list("notices", next.notices, "p"); show("notices", next.notices.length > 0);
    text("about", next.about);
    follow(next, before);
    speak(next);
    ages();
  }

  function figure(id, f) {
    const at = $(id);
    at.querySelector(".text").textContent = f.text;
    at.querySelector(".of").textContent = f.note;
    at.querySelector(".pace").hidden = !f.paces;
    const bar = at.querySelector(".bar");
    bar.hidden = f.share === null;
    if (f.share !== null) bar.firstChild.style.transform = "scaleX(" + f.share + ")";
  }

  function lid(p) {
    $("lid").className = p.shape;
    $("lidshape").setAttribute("href", "#lid-" + p.shape);
    text("lidword", p.word); text("lidnote", p.note);
  }

  function field(f) {
    text("nowname", f.now ? f.now.name : ""); text("wantedname", f.wanted ? f.wanted.name : "");
    text("fieldwords", f.words); text("fieldbeneath", f.beneath);
    $("nowfill").setAttribute("fill", f.now ? f.now.hex : "none");
    $("wantedfill").setAttribute("fill", f.wanted ? f.wanted.hex : "none");
    const half = (f.gap_percent / 2).toFixed(2);
    $("nowhalf").setAttribute("transform", "translate(-" + half + " 0)");
    $("wantedhalf").setAttribute("transform", "translate(" + half + " 0)");
    $("beyond").toggleAttribute("hidden", !(f.wanted && f.wanted.beyond_screen));
  }

  function slabs(v) {
    show("ask", !!v.question && !v.eye); show("eye", v.eye); show("tripped", !!v.trip && !v.question);
    if (v.eye) text("eyetext", v.question.text);
    else text("eyesaid", "");
    if (v.question && !v.eye) { text("askheading", v.question.heading); text("asktext", v.question.text); rings(v.question); }
    if (v.trip) { text("tripheading", v.trip.heading); text("triptext", v.trip.text); text("tripcode", v.trip.code); }
    else text("tripsaid", "");
  }

  function rings(q) {
    const key = q.parts + "/" + q.missing, at = $("rings");
    if (at.dataset.key === key) return;
    at.dataset.key = key; at.replaceChildren();
    for (let i = 0; i < q.parts; i++) {
      const gone = i >= q.parts - q.missing, g = svg("g", { transform: "translate(" + (16 + i * 34) + " 0)", fill: "none", stroke: "currentColor" });
      if (!gone) g.append(svg("path", { d: "M4 2H0v12", "stroke-width": 4 }));
      g.append(svg("circle", { cx: 0, cy: 24, r: 10, "stroke-width": 6, "stroke-dasharray": gone ? "5 5.470" : "none" }));
      at.append(g);
    }
  }

  function facts(id, rows) {
    const parts = [];
    for (const row of rows) parts.push(row.name, row.age ? "\u0000" : row.value, row.note || "");
    const at = $(id);
    if (at.children.length !== parts.length) {
      at.replaceChildren(...parts.map((_, i) => document.createElement(i % 3 ? "dd" : "dt")));
      for (let i = 1; i < parts.length; i += 3) at.children[i].append(document.createElement("b"));
    }
    parts.forEach((part, i) => {
      const cell = i % 3 === 1 ? at.children[i].firstChild : at.children[i];
      cell.classList.toggle("age", part === "\u0000");
      if (part !== "\u0000" && cell.textContent !== part) cell.textContent = part;
    });
  }

  function foot(rows) {
    const at = $("foot");
    rows.forEach((row, i) => {
      const value = at.children[i].lastElementChild;
      value.classList.toggle("age", !!row.age);
      if (!row.age && value.textContent !== row.value) value.textContent = row.value;
    });
  }

  function list(id, lines, as = "li") {
    const at = $(id), key = lines.join("\n");
    if (at.dataset.key === key) return;
    at.dataset.key = key;
    at.replaceChildren(...lines.map((line) => { const one = document.createElement(as); one.textContent = line; return one; }));
  }

  // ---- ages, and no link
  function ages() {
    if (!view) return;
    const silent = performance.now() - heard, age = view.age_ms === null ? null : view.age_ms + silent;
    const words = age === null ? "not read" : (age / 1000).toFixed(age < 9950 ? 1 : 0) + " s ago";
    for (const at of document.querySelectorAll(".age")) at.textContent = words;
    const stale = age === null ? view.tick > 0 : age > STALE;
    for (const id of ["volts", "amperes"]) {
      const at = $(id);
      at.classList.toggle("stale", stale);
      at.querySelector(".late").textContent = age > LATE ? Math.round(age / 1000) + " s old" : "";
    }
    if (silent > STALE && linked) { linked = false; link(); }
    if (!linked) text("right", Math.round(silent / 1000) + " s");
  }

  function link() {
    $("icon").href = linked ? "/page/icon.svg" : noLinkIcon;
    for (const id of ["goon", "acknowledge", "good", "notgood"]) $(id).disabled = !linked;
    if (linked) { stopped(""); missed(); return; }
    document.title = "No link · anodized";
    document.body.className = "hatched nolink"; show("notices", false);
    text("word", "No link"); text("caption", ""); text("beneath", "since last word");
    $("word").classList.remove("long");
    $("shape").setAttribute("href", "#link");
    const running = view && energised[view.state];
    text("nowname", "not known"); text("fieldwords", running ? "run goes on" : "not live"); text("fieldbeneath", running ? "without this page" : "the bench is not seen");
    $("nowfill").setAttribute("fill", "url(#hatch)");
    for (const at of $("volts").parentNode.querySelectorAll(".of, .pace, .bar")) at.hidden = at.matches(".pace, .bar"), at.matches(".of") && (at.textContent = "");
    if (!$("lid").hidden) lid({ shape: "closed", word: "Do not open", note: "lid and output are not known" });
    show("ask", false); show("eye", false); show("tripped", false);
    foot([{ value: "not known" }, { value: "not known" }, { value: "–" }, { age: true }]);
    stopped("may not arrive: use the E-stop");
    draw();
  }

  // ---- spoken: state and time at most each 15 s, what needs a person once
  function speak(v) {
    const alarm = v.trip ? v.trip.heading + ". " + v.trip.text : v.question ? v.question.heading + " " + v.question.text : "";
    if (alarm !== alarmed) { alarmed = alarm; text("assertive", alarm); }
    if (performance.now() - spoken < 15000 && spoken) return;
    spoken = performance.now();
    text("polite", v.band.word + (v.band.right ? ", " + v.band.right + " " + v.band.beneath : ""));
  }

  // ---- Stop acts on press, is never disabled, and keeps trying
  let stopping = 0;
  function stopped(words) { if (!stopping || words === "") text("stopsaid", words); }
  function press(event) {
    if (event) event.preventDefault();
    const pressed = stopping = performance.now();
    text("stopsaid", "sent");
    send(pressed);
    const watch = setInterval(() => {
      const waited = performance.now() - pressed;
      if (stopping !== pressed) return clearInterval(watch);
      if (linked && view && heard > pressed && view.lid && view.band.fill === "hollow") { text("stopsaid", "off, read back"); done(); }
      else if (waited > 1000) text("stopsaid", "no answer: use the E-stop");
      if (waited > 30000) done();
      function done() { clearInterval(watch); setTimeout(() => { if (stopping === pressed) { stopping = 0; if (linked) text("stopsaid", ""); } }, 4000); }
    }, 100);
  }
  async function send(pressed) {
    while (performance.now() - pressed < 30000 && stopping === pressed) {
      try {
        const answer = await fetch("/api/stop", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ why: "the page", ask_by_eye: true }), keepalive: true });
        if (answer.ok) return;
      } catch (gone) { /* tried again below, for half a minute */ }
      await new Promise((next) => setTimeout(next, 300));
    }
  }
  const stop = $("stop").firstElementChild;
  stop.addEventListener("pointerdown", press);
  stop.addEventListener("click", (event) => { event.preventDefault(); if (event.detail === 0) press(); }); // from the keyboard
  $("stop").addEventListener("submit", (event) => event.preventDefault());
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && !event.repeat && (!linked || !view || view.band.fill !== "hollow")) press(event);
  });

  async function tell(path, body, said) {
    try {
      const answer = await fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
      if (!answer.ok && said) text(said, (await answer.json()).error);
    } catch (gone) { if (said) text(said, "no answer from the bench"); }
  }
  $("goon").addEventListener("click", () => tell("/api/answer", { go_on: true }));
  $("good").addEventListener("click", () => tell("/api/answer", { by_eye: true }, "eyesaid"));
  $("notgood").addEventListener("click", () => tell("/api/answer", { by_eye: false }, "eyesaid"));
  $("acknowledge").addEventListener("click", () => tell("/api/acknowledge", { who: "somebody at the page" }, "tripsaid"));

  // ---- day, dark or sun, where the system's own light is not the one here
  const lights = ["system", "day", "dark", "sun"], keys = [...document.querySelectorAll(".theme")];
  function light(name) {
    if (name === "system") delete document.documentElement.dataset.light; else document.documentElement.dataset.light = name;
    for (const key of keys) { key.hidden = false; key.textContent = "Light: " + name; }
    try { localStorage.setItem("light", name); } catch (refused) { /* it lasts as long as this page */ }
  }
  let lit = "system";
  try { lit = localStorage.getItem("light") || lit; } catch (refused) { /* nothing was kept */ }
  light(lights.includes(lit) ? lit : "system");
  for (const key of keys) key.addEventListener("click", () => {
    light(lights[(lights.indexOf(document.documentElement.dataset.light || "system") + 1) % lights.length]);
    draw();
  });

  // ---- the film strip
  const NS = "http://www.w3.org/2000/svg";
  function svg(name, attributes, content) {
    const at = document.createElementNS(NS, name);
    for (const key in attributes) at.setAttribute(key, attributes[key]);
    if (content !== undefined) at.textContent = content;
    return at;
  }
  let load = null, colours = null, past = [], moments = [], gaps = [], ended = null, wanted = "", drawn = 0, lane = null;

  async function get(path) {
    const answer = await fetch(path);
    if (!answer.ok) throw new Error(path + ": " + answer.status);
    return answer.json();
  }

  // fetchLoad takes the load and what the record has of it so far.
  async function fetchLoad(name) {
    wanted = name;
    try {
      const [l, c] = await Promise.all([get("/api/load"), get("/api/colours")]);
      if (wanted !== name) return;
      if (!load || load.load !== l.load) { past = []; moments = []; gaps = []; ended = null; }
      load = l; colours = c;
      if (l.run) await backfill(l.run);
      if (l.run && !l.result) again(l.run);
      draw();
    } catch (gone) { wanted = ""; } // the next tick tries again
  }

  async function backfill(run) {
    const c = await get("/api/runs/" + run + "/curve?points=600");
    const kept = past.filter((p) => !c.t_s.length || p.t > c.t_s[c.t_s.length - 1]);
    past = c.t_s.map((t, i) => ({ t, v: c.volts[i], j: c.current_density_ma_cm2[i], d: c.thickness_by_volts_nm[i] })).concat(kept);
    const states = c.states.map((s) => ({ t: s.t_s, state: s.state })), told = states[states.length - 1] || { t: -1 };
    moments = states.concat(moments.filter((m) => m.t > told.t + (m.state === told.state ? 2 : 0))); // the record lags a second behind
    if (load && load.result) ended = load.result.energised_seconds;
  }

  // again reads the record once more when it has caught up: it lags a second behind.
  const again = (run) => setTimeout(() => { if (load && load.run === run) backfill(run).then(draw, () => 0); }, 2500);

  // missed asks the record for what this page did not see.
  function missed() {
    if (!load || !view || view.load !== load.load) return;
    const from = past.length ? past[past.length - 1].t : 0;
    fetchLoad(load.load).then(() => {
      const to = Math.min(view.live.t_s, past.length ? past[past.length - 1].t : 0), begun = moments.filter((m) => m.t > from && m.t <= to).map((m) => m.state + " began " + clock(m.t));
      if (to - from > 3) gaps.push({ from, to, words: ["not seen live", ...begun].join(", ") });
      draw();
    });
  }

  const energised = { "contact-check": true, ramping: true, holding: true };
  function follow(v, before) {
    text("nothing", v.load ? "" : "No load yet. The strip shows the film from the first energised second.");
    if (!v.load) { if (load) { load = null; past = []; draw(); } return; }
    if (v.load !== wanted) { fetchLoad(v.load); return; }
    if (!load || load.load !== v.load) return;
    if (!load.run && v.run) { // its intent is durable now: what came before this page knew it is on record soon
      load.run = v.run;
      again(v.run);
    }
    if (!before || before.state !== v.state) {
      moments.push({ t: v.live.t_s, state: v.state });
      if (before && energised[before.state] && !energised[v.state]) ended = v.live.t_s;
    }
    const p = { t: v.live.t_s, v: v.live.volts, j: v.live.current_density_ma_cm2, d: v.live.thickness_nm };
    if (energised[v.state] && p.v !== null && (!past.length || p.t - past[past.length - 1].t >= axisEnd() / 600)) past.push(p);
    if (performance.now() - drawn > 480 || (before && before.state !== v.state)) draw();
    else if (lane) lane.tick(p);
  }

  const clock = (t) => Math.floor(t / 60) + ":" + String(Math.floor(t % 60)).padStart(2, "0");
  const colourOf = (d) => d === null || d === undefined ? "none" : colours.hex[Math.max(0, Math.min(colours.hex.length - 1, Math.round(d)))];

  // ahead maps what the plan still expects onto the time that is left.
  function ahead() {
    const f = load.forecast, n = f.t_s.length, last = past[past.length - 1];
    if (!linked || !energised[view.state] || !n) return { end: ended !== null ? ended : last ? last.t : 0, points: [] };
    const planEnd = f.t_s[n - 1], now = last || { t: 0, v: 0, j: 0 };
    let i = 0;
    if (view.state === "holding") { while (i < n - 1 && !(f.volts[i] >= 0.995 * load.plan.target_volts && f.current_density_ma_cm2[i] <= now.j)) i++; }
    else while (i < n - 1 && f.volts[i] < now.v) i++;
    const left = view.live.seconds_left !== null ? view.live.seconds_left : Math.max(0, planEnd - f.t_s[i]);
    const scale = left / Math.max(1e-9, planEnd - f.t_s[i]), points = [];
    for (let k = i; k < n; k++) points.push({ t: now.t + (f.t_s[k] - f.t_s[i]) * scale, v: f.volts[k], j: f.current_density_ma_cm2[k], d: f.thickness_nm[k] });
    return { end: now.t + left, points };
  }

  function axisEnd() {
    const f = load.forecast.t_s, end = lane ? lane.end : 0;
    return 30 * Math.ceil((Math.max(f.length ? f[f.length - 1] : 60, end, past.length ? past[past.length - 1].t : 0) + 8) / 30);
  }

  function draw() {
    drawn = performance.now();
    const plot = $("plot"), box = plot.getBoundingClientRect();
    if (!load || !colours || box.width < 50) { plot.replaceChildren(hatchPattern()); lane = null; return; }
    const small = box.width < 420, font = small ? 13.6 : 17.6;
    const left = font * 3.1, right = small ? 10 : 16, top = font * 1.55, bottom = font * 1.5;
    const W = box.width - left - right, H = box.height - top - bottom, split = H * (small ? .60 : .62), gapY = H * .1;
    const future = ahead(), plan = load.plan;
    lane = { end: future.end, tick: null };
    const tMax = axisEnd(), ceiling = plan.ceiling_volts;
    const x = (t) => left + W * Math.max(0, Math.min(1, t / tMax)), base = top + split, yV = (v) => base - split * Math.max(0, Math.min(1, v / ceiling));
    const byTime = plan.end.time_seconds > 0, endJ = byTime ? plan.current_density_ma_cm2 / 50 : plan.end.current_density_ma_cm2;
    const jLow = endJ / 2.5, jHigh = plan.current_density_ma_cm2 * 2, floor = top + H, tall = H - split - gapY;
    const yJ = (j) => floor - tall * Math.max(0, Math.min(1, Math.log(Math.max(j, jLow) / jLow) / Math.log(jHigh / jLow)));
    const all = [defs()];
    const add = (name, attributes, content) => all.push(svg(name, attributes, content));
    const path = (points, px, py) => points.length ? "M" + points.map((p) => px(p).toFixed(1) + " " + py(p).toFixed(1)).join("L") : "";
    const T = (p) => x(p.t), V = (p) => yV(p.v), J = (p) => yJ(p.j);

    function defs() {
      const d = svg("defs", {}), g = svg("linearGradient", { id: "film", gradientUnits: "userSpaceOnUse", x1: left, y1: 0, x2: left + W, y2: 0 });
      const every = Math.max(1, Math.ceil(past.length / 256));
      for (let i = 0; i < past.length; i += every) if (past[i].d !== null) g.append(svg("stop", { offset: ((x(past[i].t) - left) / W).toFixed(4), "stop-color": colourOf(past[i].d) }));
      d.append(g, hatchPattern());
      return d;
    }

    // the wanted colour at the predicted end
    const post = small ? 14 : 22, running = linked && energised[view.state], goalX = running ? Math.min(x(future.end), left + W - post) : x(future.end) - post / 2;
    if (running) add("rect", { x: goalX, y: yV(plan.target_volts), width: post, height: base - yV(plan.target_volts), fill: plan.expected.hex });
    if (running || view.state === "complete") add("path", { class: "pointer", d: "M" + (goalX + post / 2 - 7) + " " + (yV(plan.target_volts) - 12) + "h14l-7 9z" });
    // to come: threads under the dotted plan
    let at = past.length ? x(past[past.length - 1].t) + 3 : left, k = 0;
    for (; at < goalX - 2 && future.points.length; at += small ? 4.5 : 5.5) {
      const t = (at - left) / W * tMax;
      while (k < future.points.length - 1 && future.points[k].t < t) k++;
      const p = future.points[k];
      if (p.v > 0.2) add("path", { class: "thread", d: "M" + at.toFixed(1) + " " + base + "V" + V(p).toFixed(1), stroke: colourOf(p.d) });
    }
    add("path", { class: "planned", d: path(future.points, T, V) });
    add("path", { class: "planned", d: path(future.points, T, J) });
    // past: the wedge
    const wedge = svg("path", { fill: "url(#film)" }), casing = svg("path", { class: "casing" }), line = svg("path", { class: "line" }), current = svg("path", { class: "line" });
    all.push(wedge, casing, line, current);
    const cursor = svg("path", { class: "axis" }), dots = [svg("circle", { class: "dot", r: 5.5 }), svg("circle", { class: "dot", r: 5.5 })];
    if (energised[view.state] && past.length) all.push(cursor, ...dots);
    // axes
    add("path", { class: "axis", d: "M" + left + " " + base + "H" + (left + W) });
    add("path", { class: "axis", d: "M" + left + " " + (floor - tall - 2) + "V" + floor + "H" + (left + W) });
    add("path", { class: "limit", d: "M" + left + " " + yJ(plan.current_density_ma_cm2) + "H" + (left + W) });
    add("text", { x: left + W, y: yJ(plan.current_density_ma_cm2) - 4, "text-anchor": "end" }, "limit " + plan.current_density_ma_cm2.toPrecision(2).replace(/\.0$/, ""));
    if (!byTime) {
      add("path", { class: "end", d: "M" + left + " " + yJ(endJ) + "H" + (left + W) });
      add("text", { x: left + W * .16, y: yJ(endJ) - 5, class: "on" }, "end " + endJ + " mA/cm²");
    }
    for (const v of [0, plan.target_volts / 2, plan.target_volts]) add("text", { x: left - 8, y: yV(v) + font * .35, "text-anchor": "end" }, Math.round(v) + (v === plan.target_volts ? " V" : ""));
    for (const j of [.01, .1, 1, 10]) if (j >= jLow && j <= jHigh) add("text", { x: left - 8, y: yJ(j) + font * .35, "text-anchor": "end" }, String(j));
    const step = [30, 60, 120, 300, 600].find((s) => W / (tMax / s) > font * 3.6) || 1200;
    for (let t = 0; t <= tMax - step * .2; t += step) add("text", { x: x(t), y: floor + font * 1.15, "text-anchor": "middle" }, clock(t));
    stages();
    for (const g of gaps) {
      add("path", { class: "axis", d: "M" + x(g.from) + " " + (top + 12) + "v-8H" + x(g.to) + "v8" });
      add("text", { x: x(g.from) + 4, y: top + font * (small ? 3.2 : 1.7), class: "on" }, g.words);
    }
    if (view.simulated) { // above the wedge where it is low; on a small screen above the decay
      const w = font * 7.4, h = small ? font * 1.25 : font * 1.5, px = small ? left + W - w : left + 8, py = small ? yJ(plan.current_density_ma_cm2) + 3 : top + 4;
      add("rect", { class: "plate", x: px, y: py, width: w, height: h, rx: 4 });
      add("text", { class: "boxed", x: px + w / 2, y: py + h / 2 + font * .32, "text-anchor": "middle" }, "SIMULATED");
    }
    if (!linked) all.splice(1, 0, svg("rect", { class: "hatch", x: past.length ? x(past[past.length - 1].t) : left, y: top, width: left + W - (past.length ? x(past[past.length - 1].t) : left), height: H }));

    function stages() {
      const words = { "contact-check": "check", ramping: "ramp", holding: "hold" };
      const list = moments.filter((m) => words[m.state]);
      list.forEach((m, i) => {
        const mx = x(m.t), next = i + 1 < list.length ? x(list[i + 1].t) : left + W;
        add("path", { class: "axis", d: "M" + mx + " " + (top - 4) + "v-" + font * .9 });
        if (next - mx > font * .5 * (words[m.state].length + 1.5)) add("text", { x: mx + 4, y: top - font * .3 }, words[m.state]);
      });
    }

    // a tick changes these paths and nothing else
    lane.tick = (p) => {
      const points = p && energised[view.state] && p.v !== null ? past.concat(p) : past;
      if (!points.length) return;
      const last = points[points.length - 1], volts = path(points, T, V);
      wedge.setAttribute("d", volts + "L" + x(last.t).toFixed(1) + " " + base + "L" + x(points[0].t).toFixed(1) + " " + base + "Z");
      casing.setAttribute("d", volts); line.setAttribute("d", volts);
      current.setAttribute("d", path(points.filter((q) => q.j !== null && q.j > jLow), T, J));
      cursor.setAttribute("d", "M" + x(last.t) + " " + (top - 2) + "V" + floor);
      dots[0].setAttribute("cx", x(last.t)); dots[0].setAttribute("cy", V(last));
      dots[1].setAttribute("cx", x(last.t)); dots[1].setAttribute("cy", J(last));
    };
    lane.tick(null);
    plot.replaceChildren(...all);
  }

  function hatchPattern() {
    const p = svg("pattern", { id: "hatch", width: 9, height: 9, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
    p.append(svg("path", { d: "M0 0V9", class: "axis" }));
    return p;
  }

  new ResizeObserver(() => draw()).observe($("strip"));

  // ---- the stream
  let source = null, opened = 0;
  function open() {
    if (source) source.close();
    opened = performance.now();
    source = new EventSource("/api/events?page");
    source.addEventListener("now", (event) => { opened = performance.now(); apply(JSON.parse(event.data)); });
    source.addEventListener("result", () => { if (load) setTimeout(() => fetchLoad(load.load), 300); });
    source.addEventListener("event", (event) => {
      const e = JSON.parse(event.data);
      if (e.event === "note" && view && view.trip) text("tripsaid", e.text[0].toUpperCase() + e.text.slice(1) + ".");
    });
  }
  open();
  setInterval(() => {
    ages();
    if (performance.now() - opened > 5000) open(); // a stream that is silent, or that the browser gave up
  }, 250);
  setInterval(() => text("clock", new Date().toLocaleTimeString()), 1000);
})();
