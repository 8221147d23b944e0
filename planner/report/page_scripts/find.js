// Find: who is on a frequency, on which day, at which stop; or where a name stands.

const DAY_NAMES = ["sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"];
const FILLER = new Set("who is are was on at in the a an of what where when which mhz and for from to".split(" "));
const MOST_FOUND = 200;

function weekday(iso) {
  return DAY_NAMES[new Date(`${iso}T00:00:00Z`).getUTCDay()];
}

/** Take a question apart: a frequency [MHz], days and other words. */
function question(text) {
  const asked = { mhz: null, days: [], weekdays: [], words: [] };
  for (const raw of text.toLocaleLowerCase().split(/[\s?;]+/)) {
    const word = raw.replace(/^[,.!]+|[,.!]+$/g, "");
    const number = /^(\d{2,4}(?:[.,]\d{1,6})?)(?:mhz)?$/.exec(word);
    const day = DAY_NAMES.find((name) => name === word || (word.length >= 3 && name.startsWith(word)));
    if (!word || FILLER.has(word)) continue;
    if (/^\d{4}-\d{2}-\d{2}$/.test(word)) asked.days.push(word);
    else if (number && asked.mhz === null) asked.mhz = Number(number[1].replace(",", "."));
    else if (day) asked.weekdays.push(day);
    else asked.words.push(word);
  }
  return asked;
}

/** Stops that a question and the chosen day leave. */
function stopsAsked(asked, day, words) {
  return plan.stops.map((stop, at) => ({ stop, at })).filter(({ stop }) => {
    const days = daysOf(stop);
    const text = [stop.label, stop.place, stop.venue, stop.id].join(" ").toLocaleLowerCase();
    return (!day || days.includes(day)) && (!asked.days.length || asked.days.some((one) => days.includes(one)))
      && (!asked.weekdays.length || days.some((one) => asked.weekdays.includes(weekday(one))))
      && words.every((word) => text.includes(word));
  });
}

/** What every stop asked says of a frequency, whatever role is chosen: "nobody" must mean nobody. */
function frequencyRows(mhz, stops) {
  return stops.map(({ stop, at }) => {
    const on = stop.carriers.filter((carrier) => standsOn(carrier, mhz));
    const near = d3.least(stop.carriers.filter((carrier) => !on.includes(carrier)), (carrier) => Math.abs(carrier.at - mhz));
    const span = spanAt(stop, mhz);
    const channel = channelAt(stop, mhz);
    return { stop, at, on, near, span, channel };
  });
}

function offsetText(carrier, mhz) {
  const khz = Math.round((carrier.at - mhz) * 1e3 * 10) / 10;
  const figure = Math.abs(khz) >= 1000 ? `${Math.abs(khz / 1000).toFixed(1)} MHz` : `${Math.abs(khz)} kHz`;
  return `${carrier.name}, ${carrier.mhz} (${figure} ${khz < 0 ? "below" : "above"})`;
}

function showFrequency(mhz, stops) {
  const rows = frequencyRows(mhz, stops);
  const taken = rows.filter((row) => row.on.length);
  const who = taken.map((row) => `${row.on.map((carrier) => `${carrier.name} (${needName(carrier)})`).join(" and ")} at ${row.stop.label}`);
  const where = stops.length === 1 ? `at ${stops[0].stop.label}` : `at ${plural(stops.length, "stop")} asked`;
  const said = taken.length
    ? `${mhzText(mhz)} MHz: ${who.slice(0, 6).join("; ")}${who.length > 6 ? `; ${who.length - 6} more` : ""}.`
    : `${mhzText(mhz)} MHz: nobody of this plan ${where}. That is not to say that nobody is on the air.`;
  const columns = [
    { name: "Date", text: (row) => row.stop.first, node: (row) => dayNodes(row.stop), kind: "nb" },
    { name: "Stop", text: (row) => row.stop.label, node: (row) => stopButton(row.at, row.stop.label, mhz), kind: "name", head: true },
    { name: "On it", text: (row) => row.on.map(carrierLine).join("; ") || NONE, kind: "free" },
    {
      name: "Nearest other carrier", text: (row) => (row.near ? offsetText(row.near, mhz) : NONE),
      sort: (row) => (row.near ? Math.abs(row.near.at - mhz) : null), kind: "free",
    },
    { name: "TV channel", text: (row) => (row.channel ? row.channel.channel : NONE), kind: "n" },
    { name: "Air", text: (row) => (row.span ? airText(row.span.air) : "not searched") },
    { name: "Law", text: (row) => (row.span ? lawText(row.span.law) : "not searched") },
  ];
  return [said, makeTable(columns, rows, { caption: `${mhzText(mhz)} MHz, stop by stop` })];
}

function showNames(asked, day) {
  const rows = [];
  for (const { stop, at } of stopsAsked(asked, day, [])) {
    for (const carrier of shownCarriers(stop)) {
      const text = [carrier.name, needName(carrier), stop.label, stop.place, stop.venue, carrier.range].join(" ").toLocaleLowerCase();
      if (asked.words.every((word) => text.includes(word))) rows.push({ stop, at, carrier });
    }
  }
  const columns = [
    { name: "Date", text: (row) => row.stop.first, node: (row) => dayNodes(row.stop), kind: "nb" },
    { name: "Stop", text: (row) => row.stop.label, node: (row) => stopButton(row.at, row.stop.label, row.carrier.at), kind: "name", head: true },
    { name: "Name", text: (row) => row.carrier.name, kind: "name" },
    { name: "Need", text: (row) => needName(row.carrier) },
    { name: "MHz", text: (row) => row.carrier.mhz, kind: "n" },
    { name: "Power", text: (row) => row.carrier.power, kind: "n" },
  ];
  const said = rows.length > MOST_FOUND
    ? `${rows.length} carriers; the first ${MOST_FOUND} are shown.` : `${plural(rows.length, "carrier")} found.`;
  return [said, rows.length ? makeTable(columns, rows.slice(0, MOST_FOUND), { caption: "Carriers found" }) : null];
}

function makeFind() {
  const query = byId("query");
  const day = byId("day");
  const days = [...new Set(plan.stops.flatMap(daysOf))].sort();
  for (const one of days) {
    const name = weekday(one);
    day.append(make("option", { value: one }, `${name[0].toUpperCase()}${name.slice(1, 3)} ${one}`));
  }

  function look() {
    const asked = question(query.value);
    if (asked.mhz === null && !asked.words.length && !asked.days.length && !asked.weekdays.length) {
      byId("found").textContent = "";
      fill(byId("found-rows"));
      return;
    }
    const stops = asked.mhz === null ? [] : stopsAsked(asked, day.value, asked.words);
    if (asked.mhz !== null && !stops.length) {
      byId("found").textContent = "No stop of the route fits the day or place asked.";
      fill(byId("found-rows"));
      return;
    }
    const [said, table] = asked.mhz === null ? showNames(asked, day.value) : showFrequency(asked.mhz, stops);
    byId("found").textContent = said;
    fill(byId("found-rows"), table);
  }

  query.addEventListener("input", look);
  day.addEventListener("change", look);
  byId("find-form").addEventListener("submit", (event) => {
    event.preventDefault();
    look();
  });
  watch(["role"], look);
}
