// The route: a table of its stops, and all of them on one frequency axis with the depth above.

const ROW = 18;

/** The days of a stop, a line each. */
function dayNodes(stop) {
  return make("span", {}, ...stop.days.split(" to ").map((day, at) => make("span", { class: "day" }, at ? `to ${day}` : day)));
}

function routeTable(host) {
  const columns = [
    { name: "Date", text: (row) => row.stop.first, node: (row) => dayNodes(row.stop), kind: "nb" },
    { name: "Place", text: (row) => row.stop.label, node: (row) => stopButton(row.at, row.stop.label), kind: "name", head: true },
    { name: "Venue", text: (row) => row.stop.venue || NONE, kind: "free" },
    { name: "Carriers", text: (row) => String(shownCarriers(row.stop).length), kind: "n" },
    { name: "Retunes", text: (row) => row.stop.retunes, kind: "n" },
    { name: "Missing", text: (row) => row.stop.short.map((one) => one[0]).join(" ") || NONE, kind: "free" },
    {
      name: "Sheet", text: (row) => row.stop.sheet,
      node: (row) => make("a", { href: encodeURI(row.stop.sheet), "aria-label": `open the sheet of ${row.stop.label}` }, "open"),
    },
  ];
  watch(["stop", "role"], () => {
    const scrolled = host.firstChild ? host.firstChild.scrollTop : 0;
    const rows = plan.stops.map((stop, at) => ({ stop, at }));
    fill(host, makeTable(columns, rows, {
      caption: "Stops in the order of the route", tall: true, rowClass: (row) => (row.at === state.stop ? "chosen" : null),
    }));
    host.firstChild.scrollTop = scrolled;
  });
}

/** The thin line of the depth: at how many stops each MHz is usable. */
function drawDepth(picture, axis, y, height) {
  const count = plan.stops.length;
  const base = y + height;
  const at = (stops) => base - stops / Math.max(1, count) * height;
  for (const mark of new Set([0, Math.floor(count / 2), count])) {
    picture.back.append("line").attr("class", "rule").attr("x1", axis.left).attr("x2", axis.right)
      .attr("y1", at(mark)).attr("y2", at(mark));
    picture.back.append("text").attr("class", "dim halo").attr("x", axis.left - 4).attr("y", at(mark) + 4)
      .attr("text-anchor", "end").text(mark === count ? `all ${count}` : mark);
  }
  let path = "";
  for (const panel of axis.seen()) {
    path += `M${panel.left.toFixed(1)} ${base}`;
    let end = panel.low;
    for (const [low, high, stops] of plan.route.depth) {
      for (const [left, right] of axis.pieces(Math.max(low, panel.low), Math.min(high, panel.high))) {
        if (low > end) path += `V${base}H${left.toFixed(1)}`;
        path += `V${at(stops).toFixed(1)}H${right.toFixed(1)}`;
        end = high;
      }
    }
    path += `V${base}H${panel.right.toFixed(1)}`;
  }
  picture.back.append("path").attr("class", "line").attr("d", path);
}

/** Boxes of one height as one path. */
function boxes(axis, spans, y, height, least) {
  let path = "";
  for (const [low, high] of spans) {
    for (const [from, to] of axis.pieces(low, high)) {
      const half = Math.max(least, to - from) / 2;
      const middle = (from + to) / 2;
      path += `M${(middle - half).toFixed(1)} ${y}h${(2 * half).toFixed(2)}v${height}h${(-2 * half).toFixed(2)}z`;
    }
  }
  return path;
}

function routePicture(host) {
  const depthHeight = 70;
  const rowsY = AXIS_Y + depthHeight + 54;
  const ends = (picture) => [picture.width < WIDE ? 88 : 132, picture.width - 10];
  const spans = plan.route.searched.length ? plan.route.searched : plan.route.depth;
  const axisOf = (picture) => new Axis(makePanels(spans, ...ends(picture)), picture.transform, ...ends(picture));

  function stopAt(y) {
    const at = Math.floor((y - rowsY) / ROW);
    return at >= 0 && at < plan.stops.length ? at : -1;
  }

  function read(picture, x, y) {
    const mhz = axisOf(picture).invert(x);
    if (mhz === null) return null;
    return routeWords(mhz, stopAt(y));
  }

  /** The next frequency at which the depth changes. */
  function step(picture, by) {
    const edges = [...new Set(plan.route.depth.flatMap(([low, high]) => [low, high]))].sort(d3.ascending);
    const axis = axisOf(picture);
    const from = picture.cursor === null || picture.cursor === undefined ? null : axis.invert(picture.cursor);
    const at = from === null ? 0 : d3.bisector((edge) => edge).center(edges, from) + by;
    const edge = edges[Math.max(0, Math.min(edges.length - 1, at))];
    const x = edge === undefined ? null : axis.x(edge);
    if (x !== null) picture.mark(x, 0);
  }

  const picture = new Picture(host, {
    label: "All stops of the route on one frequency axis", flat: true, ends,
    keys: "A click on a row chooses the stop. Keys: left and right go along the changes of the depth, + and \u2212 zoom, "
      + "Page Up and Page Down move, 0 shows all.",
    empty: "The thin line counts the stops that can use each MHz. Bars: usable at a stop; upright marks: its carriers.",
    size: () => rowsY + ROW * plan.stops.length + 6,
    draw(one) {
      const axis = axisOf(one);
      const alike = new Set(plan.stops.map((stop) => stop.country)).size === 1;
      plan.stops.forEach((stop, at) => {
        one.back.append("rect").attr("class", at === state.stop ? "row chosen" : "row").attr("x", 0)
          .attr("y", rowsY + ROW * at).attr("width", one.width).attr("height", ROW);
      });
      drawAxis(one.back, axis, AXIS_Y, one.height, alike && plan.stops.length ? plan.stops[0].channels : []);
      const name = (text, y, kind) => one.back.append("text").attr("class", `${kind} halo`).attr("x", 0).attr("y", y).text(text);
      const most = one.width < WIDE ? 12 : 19;
      name("stops that", AXIS_Y + 40, "lane");
      name("can use it", AXIS_Y + 54, "lane");
      drawDepth(one, axis, AXIS_Y + 22, depthHeight);
      name("all stops", rowsY - 12, "lane");
      one.back.append("path").attr("class", "everywhere").attr("d", boxes(axis, plan.route.full, rowsY - 20, 9, 1));
      plan.stops.forEach((stop, at) => {
        const y = rowsY + ROW * at;
        name(stop.label.length > most ? `${stop.label.slice(0, most - 1)}\u2026` : stop.label, y + 13, at === state.stop ? "lane" : "dim");
        one.back.append("path").attr("class", "usable").attr("d", boxes(axis, stop.usable, y + 8, 4, 0));
        const carriers = shownCarriers(stop).map((carrier) => [carrier.at - carrier.half, carrier.at + carrier.half]);
        one.back.append("path").attr("class", "everywhere").attr("d", boxes(axis, carriers, y + 3, 13, 0.8));
      });
    },
    read, step,
  });
  picture.svg.on("click", (event) => {
    const at = stopAt(d3.pointer(event, picture.svg.node())[1]);
    if (at >= 0) change({ stop: at, at: null });
  });
  watch(["stop", "role"], () => picture.refresh());
}

/** Say at which stops a frequency is usable, and who is on it. */
function routeWords(mhz, row) {
  const can = plan.stops.filter((stop) => stop.usable.some(([low, high]) => low <= mhz && mhz <= high));
  const nodes = [make("p", {}, `${mhzText(mhz)} MHz: usable at ${can.length} of ${plural(plan.stops.length, "stop")}`)];
  if (can.length && can.length < plan.stops.length) nodes.push(make("p", {}, can.map((stop) => stop.label).join(", ")));
  const lines = [];
  if (row >= 0) {
    const stop = plan.stops[row];
    const span = spanAt(stop, mhz);
    lines.push(`${stop.label}: ${span ? `air ${airText(span.air)}, law ${lawText(span.law)}` : "not searched"}`);
  }
  for (const stop of plan.stops) {
    for (const carrier of shownCarriers(stop)) {
      if (standsOn(carrier, mhz)) lines.push(`${stop.label}: ${carrierLine(carrier)}`);
    }
  }
  nodes.push(make("ul", {}, ...[...lines, ...roleLines()].map((text) => make("li", {}, text))));
  return nodes;
}
