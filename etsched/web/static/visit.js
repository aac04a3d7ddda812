// What a script adds to the visit's form: a draft on this telephone, sending when the signal is back, rows laid out
// without the network, and a map of the cups that grows as they are typed. Without it the form works all the same.
"use strict";
(() => {
  const form = document.querySelector("form.visit"), signal = document.querySelector("#signal"), steady = document.querySelector("#kept");
  const key = `etsched draft ${signal.dataset.person} ${location.pathname}`;
  const NO_SIGNAL = "No signal: what you type is kept on this telephone. Go on.";
  const WAITS = "No signal: kept on this telephone; it is sent when the signal is back and this page is open.";
  let sending = false, waiting = false, timer = 0;

  // What one act came to stands until the next; without one, the line says how the signal is at this moment.
  const say = (words = "") => { signal.textContent = words || (navigator.onLine ? "" : waiting ? WAITS : NO_SIGNAL); };
  const fields = () => [...form.elements].filter((each) => each.name && each.type !== "hidden" && each.name !== "do");
  const filled = (each) => (/^(checkbox|radio)$/.test(each.type) ? each.checked : each.value !== each.defaultValue || each.value);
  const changed = (each) => (/^(checkbox|radio)$/.test(each.type) ? each.checked !== each.defaultChecked
    : each.tagName === "SELECT" ? each.selectedIndex !== Math.max([...each.options].findIndex((one) => one.defaultSelected), 0)
      : each.value !== each.defaultValue);
  const given = (each) => (/^(checkbox|radio)$/.test(each.type) ? each.checked && each.value !== "" : each.value.trim() !== "" && !/grid_/.test(each.name));
  const sectionsOf = (table) => [...form.querySelectorAll(`[data-table="${table}"]`)];

  // --- the draft ---------------------------------------------------------------------------------------------------
  const keep = (isNew = false) => {
    const typed = fields().filter(filled).map((each) => [each.name, each.value]);
    try {
      // What stands in a form by itself is no draft; once something is typed it belongs to it, the date above all.
      if (waiting || fields().some(changed)) {
        localStorage.setItem(key, JSON.stringify({ typed, waiting, at: location.hash }));
        if (isNew) steady.textContent = `Kept on this telephone, ${new Date().toLocaleTimeString([], { hour: "numeric", minute: "2-digit" })}`;
      } else {
        localStorage.removeItem(key);
        steady.textContent = "";
      }
    } catch {
      steady.textContent = "This telephone keeps no draft: its storage is full or closed. Leave the page open until it is sent.";
    }
  };
  const put = (name, value) => {
    const found = [...form.elements].filter((each) => each.name === name);
    for (const each of found) {
      if (/^(checkbox|radio)$/.test(each.type)) each.checked = each.value === value || each.checked && each.type === "checkbox";
      else each.value = value;
    }
  };
  const restore = () => {
    let draft;
    try { draft = JSON.parse(localStorage.getItem(key)); } catch { draft = null; }
    if (!draft) return;
    waiting = draft.waiting;
    for (const [name] of draft.typed) {
      const [table, at] = name.split(".");
      while (/^\d+$/.test(at) && document.querySelector(`[data-more="${table}"]`) && sectionsOf(table).length <= Number(at)) another(table);
    }
    const size = draft.typed.filter(([name]) => /grid_(rows|across)$/.test(name));
    size.forEach(([name, value]) => put(name, value));
    form.querySelectorAll(".cups").forEach(layOut);
    form.querySelectorAll("[type=checkbox]").forEach((each) => { each.checked = false; });
    draft.typed.forEach(([name, value]) => put(name, value));
    steady.textContent = "The draft that this telephone kept is filled in.";
    if (!location.hash && draft.at) location.replace(draft.at);
  };

  // --- what is filled in -------------------------------------------------------------------------------------------
  const mark = () => {
    const counts = { cup: [...form.querySelectorAll(".cups input")].filter(given).length };
    for (const section of form.querySelectorAll("[data-table]")) {
      const holds = [...section.querySelectorAll("[name]")].some((each) => each.name !== "do" && given(each));
      counts[section.dataset.table] = (counts[section.dataset.table] ?? 0) + holds;
      form.querySelector(`.stations [href="#${section.id}"] [data-holds]`)?.toggleAttribute("hidden", !holds);
    }
    for (const each of form.querySelectorAll("[data-count]")) {
      const count = counts[each.dataset.count], number = each.querySelector("b");
      each.hidden = !count;
      if (number) number.textContent = count;
    }
  };
  // Stations of which something is to be mended stand first, the others below the fold.
  const mend = () => {
    if (document.activeElement?.closest("[data-mend]")) return;  // what is moved would lose the focus
    const found = new Set();
    for (const { name, value } of fields().filter(given)) {
      const [table, at, key] = name.split(".");
      if (table === "head" && key === "station") found.add(value);
      if (table === "run" && (key === "leak" || key === "from_controller" && value === "no")) found.add(at);
      if (table === "recovery" && at === "repaired_on") found.add(key);
      if (table === "electrical" && name.endsWith(".coil.or")) found.add(form.elements[`electrical.${at}.station`].value);
    }
    const first = form.querySelector(".to-mend"), rest = first.nextElementSibling;
    const byTerminal = [...form.querySelectorAll("[data-mend]")].sort((one, other) => one.dataset.mend - other.dataset.mend);
    for (const each of byTerminal) (found.has(each.dataset.mend) ? first : rest).append(each);
  };
  const turned = () => {
    form.querySelector(".visit-tools details").open = false;
    for (const each of form.querySelectorAll(".stations a")) {
      each.removeAttribute("aria-current");
      if (each.hash !== location.hash) continue;
      each.setAttribute("aria-current", "true");
      each.parentElement.scrollTop = each.offsetTop - each.parentElement.offsetTop - each.offsetHeight;
    }
    if (location.hash === "#recovery") mend();
    keep();
  };

  // --- rows --------------------------------------------------------------------------------------------------------
  const another = (table) => {
    const last = sectionsOf(table).at(-1), at = sectionsOf(table).length, copy = last.cloneNode(true);
    const renamed = (text) => text.replaceAll(`${table}.${at - 1}`, `${table}.${at}`).replaceAll(`${table}-${at - 1}`, `${table}-${at}`);
    for (const each of [copy, ...copy.querySelectorAll("*")]) {
      for (const { name, value } of [...each.attributes]) if (name !== "href" && name !== "value") each.setAttribute(name, renamed(value));
    }
    copy.querySelectorAll("input:not([type=checkbox], [type=radio]), textarea").forEach((each) => {
      if (!/grid_/.test(each.name)) { each.value = ""; each.defaultValue = ""; }
    });
    copy.querySelectorAll("select").forEach((each) => { each.selectedIndex = 0; });
    copy.querySelectorAll("[type=checkbox], [type=radio]").forEach((each) => { each.checked = each.type === "radio" && each.value === ""; });
    copy.querySelectorAll(".cup-map").forEach((each) => each.replaceChildren());
    const title = copy.querySelector("h2");
    title.textContent = title.textContent.replace(/\d+$/, at + 1);
    last.querySelector(".next").href = `#${copy.id}`;
    copy.querySelector(".turn a").href = `#${last.id}`;
    last.after(copy);
    const following = copy.nextElementSibling.querySelector(".turn a");
    if (following) following.href = `#${copy.id}`;
    return copy;
  };

  // --- cups --------------------------------------------------------------------------------------------------------
  const layOut = (box) => {
    const prefix = box.dataset.prefix;
    const [rows, across] = ["grid_rows", "grid_across"].map((name) => {
      const typed = Number(form.elements[`${prefix}.${name}`].value);
      return Number.isInteger(typed) && typed > 0 ? Math.min(typed, Number(box.dataset.most)) : 1;
    });
    const before = new Map([...box.querySelectorAll("input")].map((each) => [each.name, each.value]));
    const like = box.querySelector("input");
    box.replaceChildren(...Array.from({ length: rows }, (_, row) => {
      const line = document.createElement("p");
      line.className = "cup-row";
      for (let at = 0; at < across; at += 1) {
        const cup = like.cloneNode();
        cup.name = `${prefix}.rows.${row}.${at}`;
        cup.value = before.get(cup.name) ?? "";
        cup.setAttribute("aria-label", `Row ${row + 1}, cup ${at + 1}`);
        line.append(cup);
      }
      return line;
    }));
    draw(box);
  };
  const element = (name, marks, text = "") => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    Object.entries(marks).forEach(([mark, value]) => made.setAttribute(mark, value));
    made.textContent = text;
    return made;
  };
  const draw = (box) => {
    const rows = [...box.children].map((line) => [...line.querySelectorAll("input")].map((each) => each.value.trim() === "" ? NaN : Number(each.value)));
    const read = rows.flat().filter((each) => Number.isFinite(each) && each >= 0);
    const map = box.parentElement.querySelector(".cup-map");
    if (!read.length) { map.replaceChildren(); return; }
    const shades = JSON.parse(map.dataset.shades);  // those of the printed map
    const mean = read.reduce((sum, each) => sum + each, 0) / read.length;
    const words = `${read.length} ${read.length === 1 ? "cup" : "cups"}, mean ${mean.toFixed(1)}. The larger and darker a circle, the more its cup caught.`;
    const svg = element("svg", { viewBox: `0 0 ${rows[0].length * 40} ${rows.length * 40}`, role: "img", "aria-label": words });
    rows.forEach((row, y) => row.forEach((cup, x) => {
      const share = Number.isFinite(cup) && mean ? Math.min(cup / mean, 2) : 0;
      const [cx, cy] = [x * 40 + 20, y * 40 + 20];
      const [, fill, ink] = shades.find(([below]) => below === null || share < below);
      svg.append(element("circle", { cx, cy, r: 3 + 11 * Math.sqrt(share), fill, stroke: "#000" }));
      if (Number.isFinite(cup)) svg.append(element("text", { x: cx, y: cy + 4, "text-anchor": "middle", "font-size": 11, fill: ink }, String(cup)));
    }));
    const told = document.createElement("p");
    told.textContent = words;
    map.replaceChildren(svg, told);
  };

  // --- sending -----------------------------------------------------------------------------------------------------
  const wait = () => {
    waiting = true;
    keep();
    say(WAITS);
  };
  const send = async (what, words = "Sending …") => {
    if (sending) return;
    sending = true;
    keep();
    say(words);
    const body = new URLSearchParams(new FormData(form));
    body.set("do", what);
    try {
      const answer = await fetch(form.getAttribute("action").split("#")[0], { method: "POST", body });
      if (answer.redirected && /\/visits\//.test(answer.url)) {
        clearTimeout(timer);
        localStorage.removeItem(key);
        location.assign(answer.url);
        return;
      }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html"), says = page.querySelector("#verdict");
      waiting = false;
      keep();
      if (says) {
        form.querySelector("#verdict").replaceWith(document.adoptNode(says));
        say();
        location.hash = "#core-0";
        location.hash = "#verdict";
      } else {
        say(`Not sent: ${page.querySelector("h1")?.textContent.trim() || "the service does not answer"}. The draft is kept: open this page anew, sign in if it asks, and it is filled in again.`);
      }
      sending = false;
    } catch {
      sending = false;
      if (what === "send") wait();
      else say("No signal: the verdict comes from the service. What was typed is kept on this telephone.");
    }
  };

  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    event.preventDefault();
    const more = button.value.match(/^more\.(.+)$/);
    if (more) location.hash = `#${another(more[1]).id}`;
    else if (button.value === "lay out") layOut(button.closest("fieldset").querySelector(".cups"));
    else send(button.value);
    keep();
    mark();
  });
  form.addEventListener("input", (event) => {
    const box = event.target.closest(".cups");
    if (box) draw(box);
    clearTimeout(timer);
    timer = setTimeout(() => { keep(true); mark(); mend(); }, 300);
  });
  // A link to the screen that is shown turns nothing.
  form.querySelector(".visit-tools").addEventListener("click", (event) => { if (event.target.closest("a")) turned(); });
  addEventListener("hashchange", () => {
    turned();
    if (!sending && !waiting) say();
  });
  // The keypad's Enter is no sending: it would ask the network in the middle of a row.
  form.addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target.matches("input")) event.preventDefault(); });
  addEventListener("pagehide", () => { if (!sending) keep(); });
  addEventListener("offline", () => say());
  addEventListener("online", () => { say(); if (waiting) send("send"); });
  // A telephone in a network that leads nowhere never says that it is back.
  setInterval(() => { if (waiting) send("send", WAITS); }, 30000);
  restore();
  form.querySelectorAll(".cups").forEach(draw);
  mark();
  mend();
  turned();
  say();
  if (waiting && navigator.onLine) send("send");
  // Browsers have workers over https and on this very machine only; elsewhere the page has to stay open.
  navigator.serviceWorker?.register("/worker.js")
    .then(() => navigator.serviceWorker.ready).then(({ active }) => active.postMessage("keep this form")).catch(() => {});
})();
