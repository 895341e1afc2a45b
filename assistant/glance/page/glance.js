"use strict";
// Asks the server what to show, twice a second. What it gets is text, and is only ever put in as text.

const ASK_EVERY_MS = 500, PATIENCE_MS = 1500, SIZES = 5;
const find = (id) => document.getElementById(id);
const old = find("old");
let renewed_ms = null;

async function ask() {
  try {
    const answer = await fetch("now.json", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.ok) {
      show(await answer.json());
      renew();
    }
  } catch {
    // No answer: the page grows old by itself.
  }
  setTimeout(ask, ASK_EVERY_MS);
}

function renew() {
  // Another animation of the same kind, so that it begins anew.
  old.className = old.className === "renewed" ? "renewed-again" : "renewed";
  renewed_ms = performance.now();
}

function count_how_old() {
  const since = find("old-since");
  if (renewed_ms !== null) {
    const seconds = Math.floor((performance.now() - renewed_ms) / 1000);
    const time = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
    since.textContent = since.dataset.words.replace("{time}", time);
  }
}

function put(id, text) {
  const element = find(id);
  if (element.textContent === text) return false;
  element.textContent = text;
  return true;
}

function show(view) {
  const { mark, title, text, listed } = view.headline;
  find("page").dataset.state = mark;
  find("mark").setAttribute("href", `#${mark}`);
  document.title = title;
  put("title", title);
  list(listed);
  show_saturation(view.saturation);
  show_clocks(view.clocks);
  find("left").hidden = view.left === null;
  put("count", view.left ?? "");
  put("not-yet", view.not_yet);
  find("tiles").hidden = view.saturation === null && view.left === null;
  put("text", text);
  fit(find("text"));
}

function show_saturation(saturation) {
  const { kind, figure, threshold } = saturation ?? { kind: "unwatched", figure: "", threshold: "" };
  find("saturation").hidden = saturation === null;
  find("saturation").dataset.kind = kind;
  const shape = kind === "above" || kind === "low" ? kind : "none";
  find("saturation-mark").setAttribute("href", `#sat-${shape}`);
  put("percent", figure);
  put("threshold", threshold);
}

function show_clocks(clocks) {
  find("clocks").hidden = clocks.length === 0;
  find("clocks").replaceChildren(...clocks.map(({ name, time, known }) => {
    const row = made("p", "", known ? "clock" : "clock unknown");
    row.append(made("span", name), made("b", time));
    return row;
  }));
}

function list(names) {
  // As many as there is room for, and how many more there are.
  const listed = find("listed");
  for (let count = names.length; count >= 0; count--) {
    const more = names.length > count ? [made("li", `+ ${names.length - count}`, "more")] : [];
    listed.replaceChildren(...names.slice(0, count).map((name) => made("li", name)), ...more);
    if (listed.scrollHeight <= listed.clientHeight) return;
  }
}

function made(kind, text, name = "") {
  const element = document.createElement(kind);
  element.textContent = text;
  element.className = name;
  return element;
}

function fit(element) {
  // The largest letters with which all of it is seen.
  for (let size = 1; size <= SIZES; size++) {
    element.className = `size-${size}`;
    if (element.scrollHeight <= element.clientHeight && element.scrollWidth <= element.clientWidth) return;
  }
  element.classList.add("cut"); // with dots, so that it is seen to be cut
}

setInterval(count_how_old, 500);
ask();
