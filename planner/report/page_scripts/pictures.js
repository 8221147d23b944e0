// What all pictures share: a drawing that pans and zooms by mouse, touch, keys and buttons, and a
// line of words below it that says what is under the pointer.

const WIDE = 640;
let pictureCount = 0;

/**
 * A picture inside a host element.
 *
 * options: {label, keys, kind, most, flat, draw(picture), read(picture, x, y), step(picture, by)}; flat pictures
 * zoom along the frequency axis only; read returns nodes for the words below, or null; step is what
 * the left and right keys do.
 */
class Picture {
  constructor(host, options) {
    this.options = options;
    this.name = `picture-${pictureCount += 1}`;
    this.readout = make("div", { class: "readout", id: `${this.name}-words`, role: "status" });
    this.tools = make("div", { class: "tools", role: "group", "aria-label": `Zoom: ${options.label}` },
      this.button("+", "Closer", () => this.scale(2)), this.button("\u2212", "Farther", () => this.scale(0.5)),
      this.button("whole", "Show the whole", () => this.whole()));
    this.help = make("p", { class: "grey", id: `${this.name}-keys` }, options.keys);
    this.box = make("div", { class: `picture ${options.kind || ""}` });
    fill(host, this.tools, this.box, this.readout, this.help);
    this.svg = d3.select(this.box).append("svg").attr("tabindex", 0).attr("role", "application")
      .attr("aria-label", options.label).attr("aria-describedby", `${this.name}-keys ${this.name}-words`);
    this.back = this.svg.append("g");
    this.front = this.svg.append("g").attr("pointer-events", "none");
    this.transform = d3.zoomIdentity;
    this.zoom = d3.zoom().scaleExtent([1, options.most || 400])
      .filter((event) => this.takes(event))
      .on("zoom", (event) => {
        this.transform = event.transform;
        this.draw();
      });
    this.svg.call(this.zoom).on("dblclick.zoom", null);
    this.svg.on("dblclick", (event) => this.scale(event.shiftKey ? 0.5 : 2, d3.pointer(event, this.svg.node())));
    this.svg.on("pointermove", (event) => this.point(event)).on("click.read", (event) => this.point(event));
    this.svg.on("keydown", (event) => this.key(event));
    new ResizeObserver(() => this.resize()).observe(this.box);
    this.say(null);
  }

  button(text, label, act) {
    return make("button", { type: "button", "aria-label": label, title: label, on: { click: act } }, text);
  }

  /** Leave the wheel and one finger to the page until somebody has zoomed in. */
  takes(event) {
    if (event.type === "wheel") return event.ctrlKey || event.metaKey || event.altKey;
    if (event.type === "touchstart") return event.touches.length > 1 || this.transform.k > 1;
    return !event.button;
  }

  resize() {
    const width = this.box.clientWidth;
    if (!width || width === this.width) return;
    this.width = width;
    this.refresh();
  }

  /** Draw again from the data; the zoom stays. */
  refresh() {
    if (!this.width) return;
    this.height = this.options.size(this);
    this.svg.attr("height", this.height).attr("viewBox", `0 0 ${this.width} ${this.height}`);
    const [left, right] = this.options.ends ? this.options.ends(this) : [0, this.width];
    this.zoom.extent([[left, 0], [right, this.height]]).translateExtent([[left, 0], [right, this.height]]);
    this.draw();
  }

  draw() {
    if (!this.width) return;
    this.back.selectAll("*").remove();
    this.front.selectAll("*").remove();
    this.options.draw(this);
  }

  scale(by, point) {
    this.svg.call(this.zoom.scaleBy, by, point || (this.cursor && [this.cursor, this.height / 2]));
  }

  pan(share) {
    this.svg.call(this.zoom.translateBy, -share * this.width / this.transform.k, 0);
  }

  whole() {
    this.cursor = null;
    this.svg.call(this.zoom.transform, d3.zoomIdentity);
  }

  point(event) {
    const [x, y] = d3.pointer(event, this.svg.node());
    this.mark(x, y);
  }

  /** Put the cursor at a point and say what is there. */
  mark(x, y) {
    this.cursor = x;
    this.say(this.options.read(this, x, y));
  }

  say(nodes) {
    if (nodes) fill(this.readout, ...nodes);
    else fill(this.readout, make("p", { class: "idle" }, this.options.empty));
    this.front.selectAll(".cursor").remove();
    if (this.cursor !== null && this.cursor !== undefined && this.options.flat && nodes) {
      this.front.append("line").attr("class", "cursor").attr("x1", this.cursor).attr("x2", this.cursor)
        .attr("y1", 18).attr("y2", this.height);
    }
  }

  key(event) {
    const acts = {
      "+": () => this.scale(2), "=": () => this.scale(2), "-": () => this.scale(0.5), "0": () => this.whole(),
      Home: () => this.whole(), PageUp: () => this.pan(-0.5), PageDown: () => this.pan(0.5),
      ArrowLeft: () => (event.shiftKey ? this.pan(-0.2) : this.options.step(this, -1)),
      ArrowRight: () => (event.shiftKey ? this.pan(0.2) : this.options.step(this, 1)),
    };
    if (!acts[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    acts[event.key]();
  }

  /** Bring a span of abscissae at zoom 1 into sight. */
  show(left, right) {
    const [from, to] = this.options.ends(this);
    const k = Math.min(this.options.most || 400, (to - from) / Math.max(1e-6, right - left));
    const x = Math.max(to * (1 - k), Math.min(from * (1 - k), from - left * k));
    this.svg.call(this.zoom.transform, d3.zoomIdentity.translate(x, 0).scale(k));
  }
}

/** Key of the marks; the same as on paper. */
function legend() {
  const item = (text, draw) => {
    const drawing = d3.create("svg").attr("aria-hidden", "true").attr("viewBox", "0 0 20 12");
    draw(drawing);
    return make("li", {}, drawing.node(), text);
  };
  const word = (text, name) => item(text, (drawing) => drawing.append("rect").attr("class", "word")
    .attr("x", 0.5).attr("y", 0.5).attr("width", 19).attr("height", 11).attr("fill", `url(#pg-${name})`));
  const bar = (text, kind) => item(text, (drawing) => drawing.append("rect").attr("class", kind)
    .attr("x", 8).attr("y", 0.5).attr("width", 3.5).attr("height", 11));
  return make("ul", { class: "legend", "aria-label": "Marks" }, word("quiet, lawful", "quiet"), word("faint", "faint"),
    word("unlisted", "unlisted"), word("held", "held"), word("on-request", "on-request"), word("barred", "barred"),
    bar("carrier", "carrier"), bar("spare", "spare"), bar("fixed, others", "fixed"));
}
