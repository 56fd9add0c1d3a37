"use strict";
// A formula's page: what is typed is worked by the server while it is typed. Without this script the button does it.
(() => {
  const form = document.querySelector("form.work");
  if (!form) return;
  const pause = 200;
  const one = (name) => document.querySelector(`[data-${name}]`);
  let timer = 0;
  let asked = null;

  function element(name, text, className = "") {
    const made = document.createElement(name);
    made.textContent = text;
    made.className = className;
    return made;
  }

  function refuse(sentence) {
    one("refused").textContent = sentence;
    one("refused").hidden = false;
    one("answer").hidden = true;
    one("figure").hidden = true;
  }

  function row(cells) {
    const made = element("tr", "");
    made.setAttribute("role", "row");
    for (const text of cells) {
      const cell = element("td", text, "n");
      cell.setAttribute("role", "cell");
      made.append(cell);
    }
    return made;
  }

  function show(shown) {
    one("refused").hidden = true;
    one("answer").hidden = false;
    one("figure").hidden = false;
    one("amount").textContent = shown.amounts.join("; ");
    one("unit").textContent = shown.unit;
    one("told").textContent = shown.told;
    one("notes").replaceChildren(...shown.notes.map((note) => element("li", note)));
    for (const each of document.querySelectorAll("[data-over]")) each.textContent = shown.over;
    one("span").textContent = shown.span;
    one("rows").replaceChildren(...shown.rows.map(row));
    const drawn = shown.svg && new DOMParser().parseFromString(shown.svg, "image/svg+xml").documentElement;
    one("chart").replaceChildren(...(drawn ? [document.importNode(drawn, true)] : []));
  }

  async function work() {
    if (asked) asked.abort();
    const mine = asked = new AbortController();
    const typed = new URLSearchParams(new FormData(form));
    try {
      const reply = await fetch(`${form.dataset.work}?${typed}`, { signal: mine.signal, headers: { accept: "application/json" } });
      const answer = await reply.json();
      if (mine !== asked) return;
      history.replaceState(null, "", `${form.getAttribute("action")}?${typed}`);
      if (answer.state === "worked") show(answer.shown);
      else refuse(answer.sentence);
    } catch {
      if (mine === asked && !mine.signal.aborted) refuse("The server did not answer; type again or press Calculate.");
    }
  }

  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(work, pause);
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    clearTimeout(timer);
    work();
  });
})();
