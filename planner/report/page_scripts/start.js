// The data of the page, the state that its parts share, and small makers of elements.
// Every text of the plan enters the page as text; nothing here reads markup.

const plan = JSON.parse(document.getElementById("plan-data").textContent);
const AIR = ["held", "unlisted", "faint", "quiet"];
const LAW = ["barred", "on-request", "lawful"];
const NONE = "\u2013";

/** Rows under named columns, as objects. */
function unpack(part) {
  return part.rows.map((row) => Object.fromEntries(part.columns.map((key, at) => [key, row[at]])));
}

for (const stop of plan.stops) {
  for (const key of ["spans", "channels", "carriers", "reach"]) {
    stop[key] = unpack(stop[key]);
  }
  for (const carrier of stop.carriers) {
    carrier.at = Number(carrier.mhz);
    carrier.half = Number(carrier.khz) / 2000;
  }
}

const state = { stop: 0, role: "" };
const watchers = [];

/** Call a function now and whenever one of the named parts of the state changes. */
function watch(keys, act) {
  watchers.push([keys, act]);
  act();
}

/** Change the state and redraw what shows it. */
function change(changes) {
  const changed = Object.keys(changes).filter((key) => state[key] !== changes[key]);
  Object.assign(state, changes);
  for (const [keys, act] of watchers) {
    if (keys.some((key) => changed.includes(key))) act();
  }
  return changed.length > 0;
}

function currentStop() {
  return plan.stops[state.stop];
}

/** Make an HTML element; strings among the children become text. */
function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "on") {
      for (const [kind, act] of Object.entries(value)) node.addEventListener(kind, act);
    } else if (value !== undefined && value !== null && value !== false) {
      node.setAttribute(key, value === true ? "" : String(value));
    }
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}

/** Put children in the place of all there are. */
function fill(node, ...children) {
  node.replaceChildren(...children.filter((child) => child !== null && child !== undefined));
}

function byId(id) {
  return document.getElementById(id);
}

/** A frequency [MHz] with three decimals, more only where the hertz need it. */
function mhzText(mhz) {
  const [whole, part = ""] = (Math.round(mhz * 1e6) / 1e6).toString().split(".");
  return `${whole}.${part.padEnd(3, "0")}`;
}

/** A frequency [MHz] with the fewest decimals. */
function shortMhz(mhz) {
  return (Math.round(mhz * 1e6) / 1e6).toString();
}

function spanText(low, high) {
  return `${shortMhz(low)}${NONE}${shortMhz(high)}`;
}

function plural(count, noun) {
  return `${count} ${noun}${count === 1 ? "" : "s"}`;
}

function roleShown(role) {
  return !state.role || role === state.role;
}

/** Whether a need is of the chosen role. */
function needShown(need) {
  return roleShown(plan.needs[need].role);
}

function needName(carrier) {
  if (carrier.kind === "other") return "others";
  return carrier.need >= 0 ? plan.needs[carrier.need].name : "fixed";
}

/** The parts of a stop's carriers that the chosen role shows. */
function shownCarriers(stop) {
  return stop.carriers.filter((carrier) => roleShown(carrier.role));
}

/** Whether a carrier's band holds a frequency [MHz]; a hertz is let pass for the sake of fractions. */
function standsOn(carrier, mhz, slack = 0) {
  return Math.abs(carrier.at - mhz) <= carrier.half + slack + 1e-6;
}

function holds(part, mhz) {
  return part.low <= mhz && mhz < part.high;
}

/** What is predicted and what the rules say at a frequency of a stop; undefined outside. */
function spanAt(stop, mhz) {
  const parts = stop.spans;
  return parts.find((part) => holds(part, mhz)) || parts.find((part) => part.high === mhz);
}

function channelAt(stop, mhz) {
  return stop.channels.find((part) => holds(part, mhz));
}

function airText(index) {
  return AIR[index] || NONE;
}

function lawText(index) {
  return LAW[index] || NONE;
}

/** A line that says which role alone is shown; nothing where all are. */
function roleLines() {
  return state.role ? [`Only carriers of the role ${state.role} are shown and named here.`] : [];
}

/** Every day of a stop, as ISO dates. */
function daysOf(stop) {
  const days = [];
  const last = Date.parse(`${stop.last}T00:00:00Z`);
  for (let at = Date.parse(`${stop.first}T00:00:00Z`); at <= last && days.length < 400; at += 864e5) {
    days.push(new Date(at).toISOString().slice(0, 10));
  }
  return days.length ? days : [stop.first];
}

/** What to say of a carrier in one line. */
function carrierLine(carrier) {
  const parts = [`${carrier.name} (${needName(carrier)})`, `${carrier.mhz} MHz`];
  if (carrier.kind !== "line") parts.push(carrier.kind === "other" ? "somebody else's" : carrier.kind);
  if (carrier.power !== NONE) parts.push(carrier.power);
  return [...parts, ...carrier.marks].join(", ");
}
