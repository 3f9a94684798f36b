"use strict";
/* A thin screen: it draws the panel it is told and hands taps in. Everything is put in as text. */
const SILENT_MS = 2500;
const by = (id) => document.getElementById(id);
const mayTap = document.body.dataset.mayTap === "yes";
let panel = null, source = null, heardOf = 0, entry = null, asks = 0;

function put(id, text) { if (by(id).textContent !== text) by(id).textContent = text; }

/* Of several figures each stays on one line. */
function whole(figure, at, all) { return all.length > 1 ? figure.replaceAll(" ", "\u00a0") : figure; }

function button(text, tapped, kind = "") {
  const made = document.createElement("button");
  made.type = "button";
  made.className = kind;
  made.textContent = text;
  made.addEventListener("click", tapped);
  return made;
}

function connected(fresh) {
  by("lost").hidden = fresh;
  by("live").hidden = !fresh || !panel;
  if (!fresh) { panel = null; closeAll(); }
}

function alive() { heardOf = performance.now(); if (panel) connected(true); }

function closeAll() {
  entry = null;
  for (const each of ["pad", "list"]) if (by(each).open) by(each).close();
}

function show(next) {
  if (!panel || panel.turn !== next.turn) closeAll();
  panel = next;
  connected(true);
  const { content } = panel, mark = content.badge;
  put("where", panel.where);
  by("ears").hidden = !panel.ask;
  put("instruction", content.instruction);
  put("value", content.value.split(" / ").map(whole).join(" / "));
  by("strip").className = mark ? `verdict ${mark.colour}` : "";
  drawShape(by("shape"), mark ? mark.shape : "");
  by("shape").toggleAttribute("hidden", !mark);
  put("verdict", mark ? mark.word : content.beside);
  put("more", mark ? mark.more : "");
  by("strip").hidden = !mark && !content.beside;
  drawRoom(by("room"), panel.room);
  by("legend").hidden = !panel.room || !panel.room.pulls.length;
  put("target", panel.target);
  put("last", panel.last);
  put("question", panel.code ? `Code: ${panel.code}` : [...panel.notes, panel.question].join(" "));
  by("question").classList.toggle("code", !!panel.code);
  by("heard").classList.toggle("not", !panel.understood);
  const heard = panel.heard && (panel.understood ? `Heard: ${panel.heard}` : panel.heard);
  put("heard", [panel.sign, heard].filter(Boolean).join(" "));
  put("trouble", "");
  by("keys").replaceChildren(...panel.keys.map(key));
  fit();
}

function showEars({ shape, words }) {
  const wide = by("ears").offsetHeight;
  drawEars(by("earshape"), shape);
  put("earwords", words);
  if (panel && by("ears").offsetHeight !== wide) fit();
}

function key(choice) {
  if (mayTap) return button(choice.label, () => choose(choice), "key");
  const made = document.createElement("span");
  made.className = "key";
  made.textContent = choice.say || choice.like || choice.label;
  if (!choice.say && !choice.like) made.hidden = true;
  return made;
}

function choose(choice) {
  if (choice.say) send("tap", { say: choice.say });
  else if (choice.pad) openPad(choice.pad);
  else openList();
}

function openList() {
  by("listed").replaceChildren(...panel.listed.map((each) => button(each.label, () => { by("list").close(); choose(each); })));
  by("list").showModal();
}

function openPad(name) {
  entry = { pad: name, presses: [] };
  put("entry", "");
  layPad();
  by("pad").showModal();
}

const upright = matchMedia("(orientation: portrait)");

function layPad() {
  const pad = panel.pads.find((each) => each.name === entry.pad);
  const rows = upright.matches ? pad.upright : pad.across;
  by("padkeys").replaceChildren(...[...rows, ...pad.words].map((keys) => row(keys)));
}

upright.addEventListener("change", () => { if (entry) layPad(); });

function row(keys) {
  const made = document.createElement("div");
  made.className = "row";
  for (const each of keys) {
    if (!each.label) made.append(document.createElement("span"));
    else made.append(button(each.label, () => press(each), each.press ? "" : "wide"));
  }
  return made;
}

function press(padKey) {
  if (padKey.press) entry.presses.push(padKey.press);
  else if (padKey.label === "Rub out") entry.presses.pop();
  else if (padKey.label === "Clear") entry.presses = [];
  else if (padKey.label === "Close") { by("pad").close(); return; }
  else { send("tap", entry); return; }
  send("shown", entry);
}

async function send(path, what) {
  const asked = ++asks, turn = panel.turn;
  try {
    const answer = await fetch(path, { method: "POST", body: JSON.stringify({ turn, ...what }) });
    if (path === "shown" && answer.ok) {
      const told = await answer.json();
      if (entry && asked === asks) put("entry", told.shown);
    } else if (!answer.ok) {
      const told = await answer.text();
      put(entry ? "entry" : "trouble", told);
    }
  } catch { connected(false); }
}

function fit() {
  const [large, value, main] = [by("large"), by("value"), by("live")];
  for (const size of ["3", "2", "1", "0"]) {
    value.dataset.size = size;
    const lines = value.offsetHeight / (parseFloat(getComputedStyle(value).fontSize) * 1.08);
    const narrow = lines < 1.5 && value.scrollWidth <= value.clientWidth;
    if (narrow && large.scrollHeight <= large.clientHeight + 1 && main.scrollHeight <= main.clientHeight) return;
  }
}

function listen() {
  source = new EventSource("news");
  source.addEventListener("panel", (told) => { heardOf = performance.now(); show(JSON.parse(told.data)); });
  source.addEventListener("sign", (told) => { alive(); put("heard", `... ${JSON.parse(told.data).heard}`); });
  source.addEventListener("trouble", (told) => { alive(); put("trouble", JSON.parse(told.data).line); });
  source.addEventListener("ears", (told) => { alive(); showEars(JSON.parse(told.data)); });
  source.addEventListener("beat", alive);
}

setInterval(() => {
  if (performance.now() - heardOf <= SILENT_MS) return;
  if (panel && !panel.ask) { source.close(); return; } /* the job is closed: its code stays to be read */
  connected(false);
  if (source.readyState === EventSource.CLOSED || performance.now() - heardOf > 4 * SILENT_MS) {
    source.close();
    heardOf = performance.now() - SILENT_MS;
    listen();
  }
}, 250);

document.addEventListener("keydown", (pressed) => {
  const at = ["1", "2", "3"].indexOf(pressed.key);
  if (!mayTap || !panel || by("list").open || pressed.ctrlKey || pressed.altKey || pressed.metaKey) return;
  if (by("pad").open) typed(pressed);
  else if (at >= 0 && panel.keys[at]) choose(panel.keys[at]);
});

function typed(pressed) {
  const all = [...by("padkeys").querySelectorAll("button")];
  const label = { Backspace: "Rub out", Enter: "OK", f: "ft", i: "in" }[pressed.key] || pressed.key;
  const found = all.find((each) => each.textContent === label);
  if (!found || (pressed.key === "Enter" && pressed.target.tagName === "BUTTON")) return;
  pressed.preventDefault();
  found.click();
}

by("listclose").addEventListener("click", () => by("list").close());
by("theme").addEventListener("click", () => {
  const root = document.documentElement, light = getComputedStyle(root).getPropertyValue("--ground").trim() === "#FFFFFF";
  root.className = light ? "dark" : "light";
});
addEventListener("resize", () => { if (panel) fit(); });
listen();
