// Tables that sort by any column.

/** What a text or a number is sorted by: figures as figures, the rest as words, nothing last. */
function sortKey(value) {
  if (typeof value === "number") return value;
  const text = String(value ?? "").replaceAll("\u2212", "-");
  if (text === "" || text === NONE) return null;
  const figure = Number(text.replace(/^[+<>]/, "").replace(/ (%|mW.*)$/, ""));
  return Number.isNaN(figure) ? text.toLocaleLowerCase() : figure;
}

function compareKeys(one, other) {
  if (typeof one === typeof other) return one < other ? -1 : one > other ? 1 : 0;
  return typeof one === "number" ? -1 : 1;
}

/** Sort rows by a column; rows without a value stand last either way. */
function sorted(rows, column, down) {
  const keyed = rows.map((row, at) => ({ row, at, key: sortKey(column.sort ? column.sort(row) : column.text(row)) }));
  keyed.sort((one, other) => {
    if (one.key === null || other.key === null) {
      return (one.key === null) - (other.key === null) || one.at - other.at;
    }
    return (down ? -1 : 1) * compareKeys(one.key, other.key) || one.at - other.at;
  });
  return keyed.map((entry) => entry.row);
}

/**
 * Make a table.
 *
 * columns: [{name, text(row), node(row)?, sort(row)?, kind?, head?, cell(row)?, wide?}] where kind is a class,
 * head makes the cell a row header and cell gives further classes.
 * options: {caption, rowClass(row), tall, kind}.
 */
function makeTable(columns, rows, options) {
  const body = make("tbody");
  const heads = columns.map((column) => make("th", { scope: "col", class: column.kind },
    make("button", { type: "button", title: column.long }, column.name)));
  const order = { at: -1, down: false };

  function lay() {
    const shown = order.at < 0 ? rows : sorted(rows, columns[order.at], order.down);
    fill(body, ...shown.map((row) => {
      const line = make("tr", { class: options.rowClass && options.rowClass(row) });
      for (const column of columns) {
        const kind = [column.kind, column.cell && column.cell(row)].filter(Boolean).join(" ");
        const inside = column.node ? column.node(row) : column.text(row);
        line.append(make(column.head ? "th" : "td", { class: kind || null, scope: column.head && "row" }, inside));
      }
      return line;
    }));
    heads.forEach((head, at) => {
      if (at === order.at) head.setAttribute("aria-sort", order.down ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
  }

  heads.forEach((head, at) => head.firstChild.addEventListener("click", () => {
    if (order.at === at && order.down) order.at = -1;
    else if (order.at === at) order.down = true;
    else Object.assign(order, { at, down: false });
    lay();
  }));
  lay();
  const table = make("table", { class: options.kind }, make("caption", {}, options.caption),
    make("thead", {}, make("tr", {}, ...heads)), body);
  return make("div", {
    class: options.tall ? "scroll tall" : "scroll", tabindex: "0", role: "region", "aria-label": options.caption,
  }, table);
}

/** A button that reads as a link and shows a stop. */
function stopButton(index, text, more) {
  return make("button", { type: "button", on: { click: () => showStop(index, more) } }, text);
}

/** Choose a stop and bring it into view, at a frequency [MHz] if one is given. */
function showStop(index, mhz) {
  state.at = null;
  change({ stop: index, at: mhz ?? null });
  byId("stop").scrollIntoView({ block: "start" });
  byId("stop-title").setAttribute("tabindex", "-1");
  byId("stop-title").focus({ preventScroll: true });
}
