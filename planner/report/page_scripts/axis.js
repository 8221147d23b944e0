// One frequency axis: panels with breaks between them, zoomed as a whole.

const PANEL_BREAK = 12;
const LEAST_PANEL = 30;
const JOIN_MHZ = 3;

/** Join spans [MHz] that overlap or lie at most a gap apart. */
function joined(spans, gap) {
  const out = [];
  for (const [low, high] of [...spans].sort((one, other) => one[0] - other[0])) {
    const last = out[out.length - 1];
    if (last && low <= last[1] + gap) last[1] = Math.max(last[1], high);
    else out.push([low, high]);
  }
  return out;
}

/** Panels side by side between two abscissae, in proportion to the spectrum but none too narrow. */
function makePanels(spans, left, right) {
  const pieces = joined(spans, JOIN_MHZ);
  const room = right - left - PANEL_BREAK * Math.max(0, pieces.length - 1);
  const least = Math.min(LEAST_PANEL, room / Math.max(1, pieces.length));
  const widths = pieces.map(() => 0);
  for (;;) {
    const free = pieces.map((_, at) => at).filter((at) => !widths[at]);
    if (!free.length) break;
    const scale = (room - d3.sum(widths)) / d3.sum(free, (at) => pieces[at][1] - pieces[at][0]);
    const narrow = free.filter((at) => (pieces[at][1] - pieces[at][0]) * scale < least);
    for (const at of narrow.length ? narrow : free) {
      widths[at] = narrow.length ? least : (pieces[at][1] - pieces[at][0]) * scale;
    }
  }
  let at = left;
  return pieces.map(([low, high], index) => {
    const panel = { low, high, left: at, right: at + widths[index] };
    at = panel.right + PANEL_BREAK;
    return panel;
  });
}

/** An axis over panels under a zoom; only what lies between its ends is given. */
class Axis {
  constructor(panels, transform, left, right) {
    this.left = left;
    this.right = right;
    this.panels = panels.map((panel) => ({
      ...panel, left: transform.applyX(panel.left), right: transform.applyX(panel.right),
    }));
  }

  /** The parts of a span [MHz] in sight, as left and right abscissae. */
  pieces(low, high) {
    const out = [];
    for (const panel of this.panels) {
      if (low >= panel.high || high <= panel.low) continue;
      const per = (panel.right - panel.left) / (panel.high - panel.low);
      const from = Math.max(this.left, panel.left + (Math.max(low, panel.low) - panel.low) * per);
      const to = Math.min(this.right, panel.left + (Math.min(high, panel.high) - panel.low) * per);
      if (from < to) out.push([from, to]);
    }
    return out;
  }

  /** The frequency [MHz] at an abscissa; null in a break. */
  invert(x) {
    const panel = this.panels.find((one) => one.left <= x && x <= one.right);
    if (!panel || x < this.left || x > this.right) return null;
    return panel.low + (x - panel.left) / (panel.right - panel.left) * (panel.high - panel.low);
  }

  /** The abscissa of a frequency [MHz]; null outside the panels. */
  x(mhz) {
    const panel = this.panels.find((one) => one.low <= mhz && mhz <= one.high);
    return panel ? panel.left + (mhz - panel.low) / (panel.high - panel.low) * (panel.right - panel.left) : null;
  }

  /** Panels cut to what is in sight. */
  seen() {
    return this.panels
      .filter((panel) => panel.right > this.left && panel.left < this.right)
      .map((panel) => {
        const per = (panel.high - panel.low) / (panel.right - panel.left);
        const left = Math.max(panel.left, this.left);
        const right = Math.min(panel.right, this.right);
        return {
          left, right, low: panel.low + (left - panel.left) * per, high: panel.high - (panel.right - right) * per,
        };
      });
  }
}

/** Draw the MHz scale at a height with hairlines down to a bottom, TV channels as small ticks below it. */
function drawAxis(group, axis, y, bottom, channels) {
  let taken = -1e9;
  for (const panel of axis.seen()) {
    group.append("line").attr("class", "edge").attr("x1", panel.left).attr("x2", panel.right).attr("y1", y).attr("y2", y);
    const marks = d3.ticks(panel.low, panel.high, Math.max(1, (panel.right - panel.left) / 80));
    for (const mark of marks.length ? marks : [panel.low]) {
      const x = axis.x(mark) ?? panel.left;
      group.append("line").attr("class", "edge").attr("x1", x).attr("x2", x).attr("y1", y - 4).attr("y2", y);
      group.append("line").attr("class", "rule").attr("x1", x).attr("x2", x).attr("y1", y).attr("y2", bottom);
      const text = shortMhz(mark);
      const half = 3.4 * text.length;
      const middle = Math.min(x, axis.right + 8 - half);
      if (middle - half > taken + 5) {
        group.append("text").attr("x", middle).attr("y", y - 7).attr("text-anchor", "middle").text(text);
        taken = middle + half;
      }
    }
  }
  for (const channel of channels) {
    for (const [left, right] of axis.pieces(channel.low, channel.high)) {
      for (const x of [left, right]) {
        group.append("line").attr("class", "rule").attr("x1", x).attr("x2", x).attr("y1", y).attr("y2", y + 4);
      }
      if (right - left > 7 * channel.channel.length + 2) {
        group.append("text").attr("class", "dim").attr("x", (left + right) / 2).attr("y", y + 12)
          .attr("text-anchor", "middle").text(channel.channel);
      }
    }
  }
}
