// The map: outlines, the route, the transmitters that matter and their contours.

/** Steps in 1/100 deg as longitude and latitude. */
function unstep(steps) {
  const out = [];
  let lon = 0;
  let lat = 0;
  for (let at = 0; at < steps.length; at += 2) {
    lon += steps[at];
    lat += steps[at + 1];
    out.push([lon / 100, lat / 100]);
  }
  return out;
}

const MOST_OF_WORLD = { type: "Sphere" };

/** A Mercator projection turned to the middle of the route, so that no tour is cut in two. */
function projectionFor(width, height) {
  const points = plan.stops.map((stop) => stop.at);
  const middle = d3.geoCentroid({ type: "MultiPoint", coordinates: points });
  const projection = d3.geoMercator().rotate([Number.isFinite(middle[0]) ? -middle[0] : 0, 0]);
  if (!points.length) return projection.fitSize([width, height], MOST_OF_WORLD);
  const room = points.flatMap(([lon, lat]) => [[lon - 0.8, Math.max(-80, lat - 0.6)], [lon + 0.8, Math.min(80, lat + 0.6)]]);
  return projection.fitExtent([[34, 26], [width - 34, height - 26]], { type: "MultiPoint", coordinates: room });
}

/** Stations that reasons of a stop name; of every stop where none is given. */
function stationsOf(stop) {
  if (!stop) return plan.map.stations.map((_, at) => at);
  return [...new Set(stop.reach.map((row) => row.station))];
}

function makeMap(host) {
  let projection = null;
  let shapes = null;
  let rings = "stop";
  const line = (steps) => ({ type: "LineString", coordinates: unstep(steps) });

  /** Everything that does not change with the zoom, as path data. */
  function prepare(picture) {
    projection = projectionFor(picture.width, picture.height);
    const path = d3.geoPath(projection);
    const many = (all) => path({ type: "MultiLineString", coordinates: all.map(unstep) }) || "";
    shapes = {
      coasts: many(plan.map.coasts), borders: many(plan.map.borders),
      journey: path({ type: "LineString", coordinates: plan.stops.map((stop) => stop.at) }) || "",
      stops: plan.stops.map((stop) => projection(stop.at)),
      stations: plan.map.stations.map((station) => projection(station.at)),
      air: plan.map.stations.map((station) => (station.air.length ? path(line(station.air)) : "")),
      law: plan.map.stations.map((station) => (station.law.length ? path(line(station.law)) : "")),
    };
  }

  function place(picture, point) {
    return picture.transform.apply(point);
  }

  /** What is nearest to a point, within a finger's reach. */
  function nearest(picture, x, y) {
    let best = null;
    const look = (kind, points, indices, bonus) => {
      for (const at of indices) {
        const [px, py] = place(picture, points[at]);
        const far = Math.hypot(px - x, py - y) - bonus;
        if (far < 16 && (!best || far < best.far)) best = { kind, at, far };
      }
    };
    look("stop", shapes.stops, [state.stop, ...plan.stops.keys()], 5);
    look("station", shapes.stations, shownStations(), 0);
    return best;
  }

  function shownStations() {
    return rings === "none" ? [] : stationsOf(rings === "all" ? null : currentStop());
  }

  function read(picture, x, y) {
    const found = nearest(picture, x, y);
    picture.lit = found && found.kind === "station" ? found.at : null;
    light(picture);
    if (!found) return null;
    return found.kind === "stop" ? stopWords(plan.stops[found.at]) : stationWords(found.at);
  }

  function light(picture) {
    picture.back.selectAll(".contour").classed("lit", function lit() {
      return picture.lit !== null && this.getAttribute("data-station") === String(picture.lit);
    });
  }

  function overlap(one, other) {
    return one[0] < other[2] && other[0] < one[2] && one[1] < other[3] && other[1] < one[3];
  }

  /** Names of stops, each on the first side of its circle where nothing stands; the chosen one always. */
  function drawTowns(picture) {
    const circles = plan.stops.map((_, at) => place(picture, shapes.stops[at]));
    const taken = circles.map(([x, y]) => [x - 5, y - 5, x + 5, y + 5]);
    const order = [state.stop, ...plan.stops.keys()].filter((at, index, all) => all.indexOf(at) === index);
    for (const at of order) {
      if (!plan.stops[at]) continue;
      const { label } = plan.stops[at];
      const text = label.length > 22 ? `${label.slice(0, 21)}\u2026` : label;
      const [x, y] = circles[at];
      const wide = (at === state.stop ? 7.8 : 6.9) * text.length;
      const sides = [[9, 4, "start"], [-9, 4, "end"], [0, -9, "middle"], [0, 18, "middle"]].map(([right, down, anchor]) => {
        const left = x + right - (anchor === "end" ? wide : anchor === "middle" ? wide / 2 : 0);
        return { x: x + right, y: y + down, anchor, box: [left, y + down - 11, left + wide, y + down + 3] };
      }).filter((side) => side.box[0] >= 0 && side.box[2] <= picture.width);
      const free = sides.find(({ box }) => !taken.some((other) => overlap(box, other)));
      const side = free || (at === state.stop ? sides[0] : null);
      if (!side) continue;
      taken.push(side.box);
      picture.back.append("text").attr("class", at === state.stop ? "town halo chosen" : "town halo")
        .attr("x", side.x).attr("y", side.y).attr("text-anchor", side.anchor).text(text);
    }
  }

  function draw(picture) {
    if (!shapes) prepare(picture);
    const ground = picture.back.append("g").attr("transform", picture.transform.toString());
    ground.append("path").attr("class", "border").attr("d", shapes.borders);
    ground.append("path").attr("class", "coast").attr("d", shapes.coasts);
    for (const at of shownStations()) {
      ground.append("path").attr("class", "contour").attr("data-station", at).attr("d", shapes.air[at]);
      if (rings === "stop") ground.append("path").attr("class", "contour flat").attr("data-station", at).attr("d", shapes.law[at]);
    }
    ground.append("path").attr("class", "journey").attr("d", shapes.journey);
    for (const at of shownStations()) {
      const [x, y] = place(picture, shapes.stations[at]);
      picture.back.append("path").attr("class", "station").attr("d", `M${x} ${y - 5}l4.5 8h-9z`);
    }
    plan.stops.forEach((stop, at) => {
      const [x, y] = place(picture, shapes.stops[at]);
      const kind = `place${stop.short.length ? " failing" : ""}${at === state.stop ? " chosen" : ""}`;
      picture.back.append("circle").attr("class", kind).attr("cx", x).attr("cy", y).attr("r", at === state.stop ? 6.5 : 5);
    });
    drawTowns(picture);
  }

  const picture = new Picture(host, {
    label: "Map of the route", kind: "map", most: 60,
    keys: "Drag to move, double click or Ctrl and wheel to zoom. Keys: left and right choose the stop before and the next, + "
      + "and \u2212 zoom, 0 shows all.",
    empty: "Circles are stops, hollow ones fall short; triangles are transmitters that a reason names. Thin lines: the contour "
      + "that decides the air; dotted: the one that decides the law.",
    size: (one) => {
      shapes = null;
      return Math.round(Math.min(560, Math.max(300, one.width * 0.72)));
    },
    draw, read,
    step(one, by) {
      const count = plan.stops.length;
      const at = (state.stop + by + count) % count;
      change({ stop: at, at: null });
      one.say(stopWords(plan.stops[at]));
    },
  });

  /** Choose the stop under a click; where several lie together, the one after the chosen one. */
  function choose(x, y) {
    const far = (at) => {
      const [px, py] = place(picture, shapes.stops[at]);
      return Math.hypot(px - x, py - y);
    };
    const close = [...plan.stops.keys()].filter((at) => far(at) < 16);
    const least = d3.min(close, far);
    const together = close.filter((at) => far(at) < least + 3);
    if (!together.length) return;
    change({ stop: together[(together.indexOf(state.stop) + 1) % together.length], at: null });
    picture.say(stopWords(currentStop()));
  }

  picture.svg.on("click.choose", (event) => choose(...d3.pointer(event, picture.svg.node())));

  const choice = make("select", { "aria-label": "Contours on the map" },
    make("option", { value: "stop" }, "contours of the chosen stop's stations"),
    make("option", { value: "all" }, "contours of all stations named"), make("option", { value: "none" }, "no contours"));
  choice.addEventListener("change", () => {
    rings = choice.value;
    picture.draw();
  });
  const closer = make("button", { type: "button", on: { click: () => toStop() } }, "to the chosen stop");

  /** Bring the chosen stop, its stations and their contours into sight. */
  function toStop() {
    const points = [plan.stops[state.stop].at];
    for (const at of stationsOf(currentStop())) {
      points.push(plan.map.stations[at].at, ...unstep(plan.map.stations[at].air));
    }
    const seen = points.map((point) => projection(point));
    const [[left, right], [top, bottom]] = [0, 1].map((axis) => d3.extent(seen, (point) => point[axis]));
    const room = 40;
    const k = Math.min(60, Math.max(1, Math.min((picture.width - room) / Math.max(1, right - left),
      (picture.height - room) / Math.max(1, bottom - top))));
    picture.svg.call(picture.zoom.transform, d3.zoomIdentity.translate(picture.width / 2, picture.height / 2).scale(k)
      .translate(-(left + right) / 2, -(top + bottom) / 2));
  }

  picture.tools.append(closer, choice);
  watch(["stop"], () => picture.draw());
}

function stopWords(stop) {
  const nodes = [make("p", {}, `${stop.place}, ${stop.days}`)];
  const counts = [plural(stop.carriers.length, "carrier"), `${stop.retunes} retuned`];
  nodes.push(make("p", {}, [stop.venue, ...counts].filter(Boolean).join(", ")));
  nodes.push(make("ul", {}, ...stop.short.map(([sentence]) => make("li", {}, sentence))));
  nodes.push(make("p", {}, stopButton(plan.stops.indexOf(stop), `Show ${stop.label} below`), " or ",
    make("a", { href: encodeURI(stop.sheet) }, "open its sheet")));
  return nodes;
}

function stationWords(at) {
  const station = plan.map.stations[at];
  const stop = currentStop();
  const nodes = [make("p", {}, station.name), make("p", {}, station.what)];
  const lines = stop.reach.filter((row) => row.station === at).map((row) => (
    `${row.distance} ${plan.unit} from ${stop.label} at ${row.bearing}, ${row.field} dB(\u00b5V/m) for 10 % of the time; `
    + `contour: ${row.outside}${row.outside === NONE ? "" : ` ${plan.unit}`}`));
  nodes.push(make("ul", {}, ...lines.map((text) => make("li", {}, text))));
  return nodes;
}
