// The spectrum of a stop in lanes: law, air, level, then one lane a need with carriers at true width.

const LANE_LEFT = 112;
const AXIS_Y = 24;

/** Lanes from the top: name, height of the drawing, what draws it. */
function stopLanes(stop) {
  const lanes = [
    { name: "law", height: 18, draw: (picture, axis, y) => drawWords(picture, axis, y, stop, "law") },
    { name: "air", height: 18, draw: (picture, axis, y) => drawWords(picture, axis, y, stop, "air") },
  ];
  if (stop.spans.some((span) => span.rise !== null)) {
    lanes.push({
      name: "noise rise", note: "dB", height: 52, draw: (picture, axis, y) => drawLevel(picture, axis, y, stop),
    });
  }
  plan.needs.forEach((need, at) => {
    const own = stop.carriers.filter((carrier) => carrier.need === at && !apart(carrier));
    const windows = stop.windows[at];
    if (!needShown(at) || !(own.length || windows.length)) return;
    lanes.push({
      name: need.name, note: plural(own.length, "carrier"), height: 62,
      draw: (picture, axis, y) => drawNeed(picture, axis, y, own, windows),
    });
  });
  const rest = shownCarriers(stop).filter(apart);
  if (rest.length) {
    const others = rest.some((carrier) => carrier.kind === "other");
    lanes.push({
      name: others ? "fixed, others" : "fixed", height: 56,
      draw: (picture, axis, y) => drawNeed(picture, axis, y, rest, []),
    });
  }
  return lanes;
}

function apart(carrier) {
  return carrier.kind === "fixed" || carrier.kind === "other" || carrier.need < 0;
}

/** Adjacent spans that agree in a word are one bar; a bar with room for its word carries it. */
function drawWords(picture, axis, y, stop, key) {
  const order = key === "air" ? AIR : LAW;
  const bars = [];
  for (const span of stop.spans) {
    const last = bars[bars.length - 1];
    if (last && last.word === span[key] && span.low <= last.high) last.high = Math.max(last.high, span.high);
    else bars.push({ low: span.low, high: span.high, word: span[key] });
  }
  for (const bar of bars) {
    const word = order[bar.word];
    if (!word) continue;
    for (const [left, right] of axis.pieces(bar.low, bar.high)) {
      picture.back.append("rect").attr("class", "word").attr("x", left).attr("y", y).attr("width", right - left)
        .attr("height", 18).attr("fill", `url(#pg-${word})`);
      if (right - left > 7 * word.length + 8) {
        picture.back.append("text").attr("class", "halo").attr("x", (left + right) / 2).attr("y", y + 13)
          .attr("text-anchor", "middle").text(word);
      }
    }
  }
}

/** The noise rise as one thin line on a scale of its own. */
function drawLevel(picture, axis, y, stop) {
  const top = Math.max(10, Math.ceil((d3.max(stop.spans, (span) => span.rise ?? 0) + 1) / 10) * 10);
  const base = y + 48;
  const at = (db) => base - Math.max(0, db) / top * 44;
  for (const mark of [0, top / 2, top]) {
    picture.back.append("line").attr("class", "rule").attr("x1", axis.left).attr("x2", axis.right)
      .attr("y1", at(mark)).attr("y2", at(mark));
    picture.back.append("text").attr("class", "dim halo").attr("x", axis.left - 4).attr("y", at(mark) + 4)
      .attr("text-anchor", axis.left > 40 ? "end" : "start").text(mark);
  }
  let path = "";
  let before = -1;
  for (const span of stop.spans) {
    if (span.rise === null) continue;
    for (const [left, right] of axis.pieces(span.low, span.high)) {
      path += `${Math.abs(left - before) < 0.05 ? "L" : "M"}${left.toFixed(1)} ${at(span.rise).toFixed(1)}H${right.toFixed(1)}`;
      before = right;
    }
  }
  picture.back.append("path").attr("class", "line").attr("d", path);
}

/** Carriers at their true width, names above where there is room, usable windows below. */
function drawNeed(picture, axis, y, carriers, windows) {
  const bars = y + 30;
  const group = picture.back;
  for (const [low, high] of windows) {
    for (const [left, right] of axis.pieces(low, high)) {
      group.append("rect").attr("class", "window").attr("x", left).attr("y", bars + 20).attr("width", right - left)
        .attr("height", 4);
    }
  }
  const ends = [-1e9, -1e9];
  for (const carrier of [...carriers].sort((one, other) => one.at - other.at)) {
    const pieces = axis.pieces(carrier.at - carrier.half, carrier.at + carrier.half);
    if (!pieces.length) continue;
    const left = pieces[0][0];
    const right = pieces[pieces.length - 1][1];
    const width = Math.max(carrier.kind === "spare" ? 2.4 : 1.2, right - left);
    const x = (left + right - width) / 2;
    const kind = carrier.kind === "spare" ? "spare" : apart(carrier) ? "fixed" : "carrier";
    group.append("rect").attr("class", kind).attr("x", x).attr("y", bars).attr("width", width).attr("height", 18);
    if (kind === "fixed") {
      group.append("path").attr("class", "fixed").attr("d", `M${(left + right) / 2 - 3.5} ${bars - 5}h7l-3.5 5z`);
    }
    const text = carrier.name.length > 18 ? `${carrier.name.slice(0, 17)}\u2026` : carrier.name;
    const row = ends.findIndex((end) => end < left);
    if (row >= 0 && left + 6.4 * text.length < axis.right + 8) {
      const base = bars - 6 - 12 * row;
      group.append("text").attr("class", "halo").attr("x", left).attr("y", base).text(text);
      ends[row] = left + 6.6 * text.length + 6;
    }
  }
}

/** Say everything about a frequency of a stop. */
function spectrumWords(stop, mhz, near) {
  const span = spanAt(stop, mhz);
  const channel = channelAt(stop, mhz);
  const head = [`${mhzText(mhz)} MHz`, channel && `TV channel ${channel.channel}`].filter(Boolean).join(", ");
  const nodes = [make("p", {}, `${head} at ${stop.label}`)];
  if (span) {
    const rise = span.rise === null ? "" : `; noise rise ${span.rise.toFixed(1)} dB`;
    nodes.push(make("p", {}, `air ${airText(span.air)}, law ${lawText(span.law)}${rise}`));
  } else {
    nodes.push(make("p", {}, "not searched here"));
  }
  const on = near.map(carrierLine);
  const why = span ? span.why.map((at) => stop.reasons[at]) : [];
  if (channel && channel.partial) why.push("A class of stations is missing from the tables for this channel.");
  nodes.push(make("ul", {}, ...[...on, ...why, ...roleLines()].map((text) => make("li", {}, text))));
  return nodes;
}

/** Make the picture of the chosen stop inside a host; it follows the state. */
function makeSpectrum(host) {
  let lanes = [];
  const ends = (picture) => (picture.width < WIDE ? [2, picture.width - 8] : [LANE_LEFT, picture.width - 10]);
  const spansOf = (stop) => [...stop.spans.map((span) => [span.low, span.high]),
    ...stop.carriers.map((carrier) => [carrier.at - carrier.half, carrier.at + carrier.half])];
  const panels = (picture) => makePanels(spansOf(currentStop()), ...ends(picture));
  const gap = (picture) => (picture.width < WIDE ? 20 : 10);
  const axisOf = (picture) => new Axis(panels(picture), picture.transform, ...ends(picture));

  function near(stop, mhz, slack) {
    return shownCarriers(stop).filter((carrier) => standsOn(carrier, mhz, slack));
  }

  function read(picture, x) {
    const axis = axisOf(picture);
    const mhz = axis.invert(x);
    if (mhz === null) return null;
    const per = (axis.invert(x + 1) ?? mhz) - mhz || mhz - (axis.invert(x - 1) ?? mhz);
    const stop = currentStop();
    const close = near(stop, mhz, 3 * Math.abs(per)).sort((one, other) => Math.abs(one.at - mhz) - Math.abs(other.at - mhz));
    const at = close.length ? close[0].at : mhz;
    return spectrumWords(stop, at, close.length ? near(stop, at, 0) : []);
  }

  function step(picture, by) {
    const stop = currentStop();
    const all = shownCarriers(stop).sort((one, other) => one.at - other.at);
    if (!all.length) return;
    picture.chosen = ((picture.chosen ?? (by > 0 ? -1 : 0)) + by + all.length) % all.length;
    goTo(picture, all[picture.chosen].at, false);
  }

  /** Put the cursor on a frequency, in sight, closer if asked. */
  function goTo(picture, mhz, closer) {
    let x = axisOf(picture).x(mhz);
    if (x === null) return;
    const [left, right] = ends(picture);
    if (closer || x < left || x > right) {
      const base = new Axis(panels(picture), d3.zoomIdentity, left, right).x(mhz);
      const half = (right - left) / 2 / (closer ? Math.max(16, picture.transform.k) : picture.transform.k);
      picture.show(base - half, base + half);
      x = axisOf(picture).x(mhz);
    }
    picture.mark(x, 0);
  }

  const picture = new Picture(host, {
    label: "Spectrum of the stop", flat: true, ends,
    keys: "Drag to move, double click or Ctrl and wheel to zoom. Keys: left and right go from carrier to carrier, + and \u2212 "
      + "zoom, Page Up and Page Down move, 0 shows all.",
    empty: "Point at the picture, or use the left and right keys, to read a frequency here.",
    size: (one) => AXIS_Y + 22 + d3.sum(lanes, (lane) => lane.height + gap(one)) + 4,
    draw(one) {
      const axis = axisOf(one);
      const stop = currentStop();
      drawAxis(one.back, axis, AXIS_Y, one.height, stop.channels);
      one.back.append("text").attr("class", "lane").attr("x", 0).attr("y", AXIS_Y - 7).text(one.width < WIDE ? "" : "MHz");
      let y = AXIS_Y + 22;
      for (const lane of lanes) {
        const name = lane.name.length > 17 ? `${lane.name.slice(0, 16)}\u2026` : lane.name;
        const narrow = one.width < WIDE;
        y += narrow ? 14 : 0;
        lane.draw(one, axis, y);
        const base = narrow ? y - 4 : y + 13;
        one.back.append("text").attr("class", "lane halo").attr("x", narrow ? 2 : 0).attr("y", base).text(name);
        if (lane.note) {
          one.back.append("text").attr("class", "dim halo").attr("x", narrow ? 2 + 7 * name.length + 10 : 0)
            .attr("y", narrow ? base : base + 14).text(lane.note);
        }
        y += lane.height + gap(one) - (narrow ? 14 : 0);
      }
    },
    read, step,
  });

  const jump = make("select", { "aria-label": "Zoom to a part of the spectrum" });
  picture.tools.append(jump);
  jump.addEventListener("change", () => {
    const spans = JSON.parse(jump.value || "null");
    if (!spans) picture.whole();
    else {
      const base = new Axis(panels(picture), d3.zoomIdentity, ...ends(picture));
      picture.show(base.x(spans[0]) - 4, base.x(spans[1]) + 4);
    }
  });

  function jumps(stop) {
    const parts = joined(spansOf(stop), JOIN_MHZ).map(([low, high]) => [`${spanText(low, high)} MHz`, low, high]);
    plan.needs.forEach((need, at) => {
      const used = stop.carriers.filter((carrier) => carrier.need === at);
      if (used.length && needShown(at)) parts.unshift([`${need.name}: carriers`, d3.min(used, (one) => one.at), d3.max(used, (one) => one.at)]);
    });
    fill(jump, make("option", { value: "" }, "whole spectrum"),
      ...parts.map(([text, low, high]) => make("option", { value: JSON.stringify([low, high]) }, text)));
  }

  watch(["stop", "role"], () => {
    lanes = stopLanes(currentStop());
    picture.chosen = null;
    picture.cursor = null;
    picture.svg.attr("aria-label", `Spectrum at ${currentStop().label}`);
    jumps(currentStop());
    picture.say(null);
    picture.refresh();
  });
  watch(["stop", "at"], () => {
    if (state.at) goTo(picture, state.at, true);
    else if (picture.width) picture.whole();
  });
}
