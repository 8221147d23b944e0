// One stop: what is missing, its spectrum, its carriers, TV channels and transmitters.

const CHANGE_FIRST = "first use";
const CHANGE_SAME = "as before";

function carrierTable(stop) {
  const works = stop.carriers.some((carrier) => carrier.works !== NONE);
  const columns = [
    { name: "Name", text: (row) => row.name, head: true, kind: "name" },
    { name: "MHz", text: (row) => row.mhz, kind: "n mhz" },
    { name: "Need", text: needName },
    { name: "Kind", text: (row) => (row.kind === "line" ? "line" : row.kind === "other" ? "somebody else's" : row.kind) },
    { name: "Power", text: (row) => row.power, kind: "n" },
    { name: "Range", text: (row) => row.range, kind: "free" },
    { name: "TV channel", text: (row) => row.channel, kind: "n" },
    { name: "Air", text: (row) => airText(row.air) },
    { name: "Law", text: (row) => lawText(row.law) },
    { name: "Noise rise dB", text: (row) => row.noise, kind: "n" },
    ...(works ? [{ name: "Works to m", text: (row) => row.works, kind: "n" }] : []),
    {
      name: "Change", text: (row) => (row.change === CHANGE_FIRST || row.change === CHANGE_SAME ? row.change : `${row.change}, was ${row.previous}`),
    },
    { name: "Nearest product", text: (row) => row.product, kind: "free" },
    { name: "Remarks", text: (row) => [...row.marks, row.for && `only for ${row.for}`, row.pair && `beside ${row.pair}`].filter(Boolean).join("; "), kind: "free" },
  ];
  return makeTable(columns, shownCarriers(stop), { caption: `Carriers at ${stop.label}` });
}

function channelTable(stop) {
  const columns = [
    { name: "TV channel", text: (row) => row.channel, head: true },
    { name: "MHz", text: (row) => spanText(row.low, row.high), sort: (row) => row.low },
    { name: "Air", text: (row) => airText(row.air) },
    { name: "Law", text: (row) => lawText(row.law) },
    { name: "Noise rise dB", text: (row) => row.noise, kind: "n" },
    { name: "Chance of quiet", text: (row) => row.chance, kind: "n" },
    ...(stop.channels.some((row) => row.partial) ? [{ name: "Tables", text: (row) => (row.partial ? "lack a class" : "whole") }] : []),
    { name: "Why", text: (row) => row.why.map((at) => stop.reasons[at]).join(" "), node: (row) => make("ul", {}, ...row.why.map((at) => make("li", {}, stop.reasons[at]))), kind: "wide" },
  ];
  return makeTable(columns, stop.channels, { caption: `TV channels at ${stop.label}, the best a carrier finds in each${
    stop.channels.some((row) => row.partial) ? "; where tables lack a class, stations of that class may be on the air" : ""}` });
}

function reachTable(stop) {
  const columns = [
    { name: "Transmitter", text: (row) => plan.map.stations[row.station].name, head: true, kind: "name" },
    { name: "TV channel", text: (row) => row.channel, kind: "n" },
    { name: `Distance ${plan.unit}`, text: (row) => row.distance, sort: (row) => row.km, kind: "n" },
    { name: "Bearing", text: (row) => row.bearing, kind: "n", sort: (row) => Number.parseInt(row.bearing, 10) || 0 },
    { name: "Field dB(\u00b5V/m), 10 % of time", text: (row) => row.field, kind: "n" },
    { name: `Outside its contour ${plan.unit}`, text: (row) => row.outside, sort: (row) => row.outside_km, kind: "n" },
  ];
  return makeTable(columns, stop.reach, { caption: `Transmitters that a reason at ${stop.label} names` });
}

function shortBox(stop) {
  return stop.short.map(([sentence, binds, cures]) => make("div", { class: "short" }, make("h3", {}, sentence),
    binds ? make("p", {}, `What binds: ${binds}.`) : null,
    cures.length ? make("p", {}, `Would cure it: ${cures.join("; or ")}.`) : null));
}

function folded(title, build) {
  const details = make("details", {}, make("summary", {}, title));
  details.addEventListener("toggle", () => {
    if (details.open && details.children.length === 1) details.append(build());
  });
  return details;
}

function makeStop(host) {
  const which = byId("which");
  const head = make("div");
  const drawing = make("div");
  const tables = make("div");
  fill(host, head, drawing, legend(), tables);
  plan.stops.forEach((stop, at) => which.append(make("option", { value: at }, `${stop.days}, ${stop.label}`)));
  which.addEventListener("change", () => change({ stop: Number(which.value), at: null }));
  byId("before").addEventListener("click", () => change({ stop: Math.max(0, state.stop - 1), at: null }));
  byId("after").addEventListener("click", () => change({ stop: Math.min(plan.stops.length - 1, state.stop + 1), at: null }));

  watch(["stop"], () => {
    const stop = currentStop();
    which.value = String(state.stop);
    byId("before").disabled = state.stop === 0;
    byId("after").disabled = state.stop === plan.stops.length - 1;
    const status = stop.status === "confirmed" ? "" : ` (${stop.status})`;
    fill(head, make("h3", { class: "title" }, stop.place),
      make("p", {}, `${[stop.venue, stop.days].filter(Boolean).join(", ")}${status}. `,
        make("a", { href: encodeURI(stop.sheet) }, "Open the sheet")),
      make("dl", { class: "facts" }, ...stop.facts.map(([name, value]) => make("div", {}, make("dt", {}, name), make("dd", {}, value)))),
      ...shortBox(stop), stop.moves ? make("p", { class: "moves" }, stop.moves) : null);
  });
  watch(["stop", "role"], () => {
    const stop = currentStop();
    fill(tables, make("h3", {}, "Carriers"), carrierTable(stop),
      folded("TV channels and why", () => channelTable(stop)),
      folded("Transmitters named", () => reachTable(stop)),
      folded("Rules and coverage", () => make("ul", {}, ...[...stop.rules, ...stop.coverage].map((text) => make("li", {}, text)))));
  });
  makeSpectrum(drawing);
}
