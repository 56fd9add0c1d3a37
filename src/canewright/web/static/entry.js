"use strict";
// Keyboard entry: a row is saved when it is left; rows the server did not answer wait here and are sent again in order.
(() => {
  const table = document.querySelector("table.grid");
  if (!table) return;
  document.documentElement.classList.add("with-script");
  const address = location.pathname;
  const time = table.dataset.time;
  const store = `canewright ${address} ${time}`;
  const again = 5000;
  const marks = {
    empty: "· empty", changed: "· not saved yet", waiting: "… waiting", saved: "✓ saved", refused: "✗ refused",
  };
  const rows = [...table.querySelectorAll("tbody tr")];
  const cellsOf = (row) => [...row.querySelectorAll("input[data-column]")];
  const whyOf = (row) => row.querySelector("[name=reason]");
  let waiting = kept();
  let sending = false;

  function kept() {
    try { return JSON.parse(localStorage.getItem(store)) || []; } catch { return []; }
  }

  function keep() {
    try {
      if (waiting.length) localStorage.setItem(store, JSON.stringify(waiting));
      else localStorage.removeItem(store);
    } catch { /* a browser that keeps nothing still sends from memory */ }
    const count = waiting.length;
    document.getElementById("queue").textContent =
      count ? `… ${count} row${count === 1 ? "" : "s"} waiting to be saved` : "";
  }

  function show(row, state, sentence = "") {
    row.dataset.state = state;
    row.querySelector(".mark").textContent = marks[state];
    row.querySelector("[data-sentence]").textContent = sentence;
    for (const cell of cellsOf(row)) {
      if (state === "refused" && changed(cell)) cell.setAttribute("aria-invalid", "true");
      else cell.removeAttribute("aria-invalid");
    }
  }

  const changed = (cell) => cell.value.trim() !== cell.dataset.stored;
  const correcting = (cell) => cell.dataset.stored !== "" && changed(cell);

  function askWhy(row) {
    const needed = cellsOf(row).some(correcting);
    row.querySelector(".why").hidden = !needed;
    if (!needed) whyOf(row).value = "";
  }

  function entryOf(row) {
    const entry = { time, place: row.dataset.place, quantity: row.dataset.quantity, reason: whyOf(row).value };
    for (const cell of cellsOf(row)) {
      entry[`value${cell.dataset.column}`] = cell.value;
      entry[`key${cell.dataset.column}`] = row.querySelector(`[name=key${cell.dataset.column}]`).value;
    }
    return entry;
  }

  const rowOf = (entry) =>
    rows.find((row) => row.dataset.place === entry.place && row.dataset.quantity === entry.quantity);

  function leave(row) {
    if (!cellsOf(row).some(changed)) {
      if (row.dataset.state) show(row, cellsOf(row).some((c) => c.dataset.stored) ? "saved" : "empty");
      return;
    }
    const entry = entryOf(row);
    waiting = waiting.filter((each, i) => (i === 0 && sending) || rowOf(each) !== row);
    waiting.push(entry);
    show(row, "waiting");
    keep();
    send();
  }

  async function send() {
    if (sending || !waiting.length) return;
    sending = true;
    const entry = waiting[0];
    let answer = null;
    try {
      const reply = await fetch(address, {
        method: "POST",
        headers: { "content-type": "application/json", accept: "application/json" },
        body: JSON.stringify(entry),
      });
      answer = await reply.json();
    } catch { /* no answer: the row stays in the queue */ }
    sending = false;
    if (!answer) {
      const row = rowOf(entry);
      if (row) show(row, "waiting", "The server did not answer; the row is kept here and sent again.");
      setTimeout(send, again);
      return;
    }
    waiting.shift();
    keep();
    apply(entry, answer);
    send();
  }

  function apply(entry, answer) {
    const row = rowOf(entry);
    if (!row) return;
    if (answer.state === "refused") {
      show(row, "refused", answer.sentence);
      askWhy(row);
      return;
    }
    for (const told of answer.cells) {
      const cell = row.querySelector(`input[data-column="${told.column}"]`);
      const untouched = cell.value === entry[`value${told.column}`];
      cell.dataset.stored = told.text;
      if (untouched) cell.value = told.text;
      row.querySelector(`[name=key${told.column}]`).value = told.key;
      row.querySelector(`[data-former="${told.column}"]`).textContent = told.former.join("; ");
    }
    for (const each of rows) {
      each.querySelector(".apart").textContent = answer.differences[each.dataset.number] || "";
    }
    const more = cellsOf(row).some(changed);
    askWhy(row);
    show(row, more ? "changed" : answer.state);
  }

  function go(row, column, step) {
    const next = rows[rows.indexOf(row) + step];
    if (!next) {
      leave(row);
      return;
    }
    const cell = next.querySelector(`input[data-column="${column}"]`);
    cell.focus();
    cell.select();
  }

  for (const row of rows) {
    if (!cellsOf(row).length) continue;
    askWhy(row);
    row.querySelector("form").addEventListener("submit", (event) => event.preventDefault());
    row.addEventListener("input", () => {
      askWhy(row);
      show(row, cellsOf(row).some(changed) ? "changed" : cellsOf(row).some((c) => c.dataset.stored) ? "saved" : "empty");
    });
    row.addEventListener("focusout", (event) => {
      if (!row.contains(event.relatedTarget)) leave(row);
    });
    row.addEventListener("keydown", (event) => {
      const column = event.target.dataset.column || "1";
      const step = { Enter: event.shiftKey ? -1 : 1, ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (step && event.target.matches("input") && !event.isComposing) {
        event.preventDefault();
        go(row, column, step);
      } else if (event.key === "Escape" && event.target.dataset.column) {
        event.target.value = event.target.dataset.stored;
        event.target.dispatchEvent(new Event("input", { bubbles: true }));
      }
    });
  }

  for (const entry of waiting) {
    const row = rowOf(entry);
    if (!row || !cellsOf(row).length) continue;
    for (const cell of cellsOf(row)) cell.value = entry[`value${cell.dataset.column}`];
    whyOf(row).value = entry.reason;
    askWhy(row);
    show(row, "waiting");
  }
  addEventListener("online", send);
  addEventListener("pagehide", () => {
    const row = document.activeElement && document.activeElement.closest("table.grid tbody tr");
    if (row && cellsOf(row).some(changed)) {
      waiting = [...waiting.filter((each) => rowOf(each) !== row), entryOf(row)];
      keep();
    }
  });
  keep();
  send();
  const first = rows.find((row) => cellsOf(row).some((cell) => !cell.value));
  if (first && !location.hash) cellsOf(first)[0].focus({ preventScroll: true });
})();
