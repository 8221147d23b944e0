// Ranges: combinations over all needs, then each need's ranges alone, stop by stop.

function signed(value) {
  if (value === null || value === undefined) return NONE;
  if (value === 0) return "0";
  return value < 0 ? `\u2212${-value}` : `+${value}`;
}

function headClass(values) {
  const known = values.filter((value) => value !== null && value !== undefined);
  if (!known.length) return "";
  const least = Math.min(...known);
  return least < 0 ? "lacks" : least === 0 ? "just" : "";
}

/** One column a stop, with the headroom there. */
function stopColumns(headsOf) {
  return plan.stops.map((stop, at) => ({
    name: stop.label.length > 20 ? `${stop.label.slice(0, 19)}\u2026` : stop.label, long: `${stop.label}, ${stop.days}`, kind: "n",
    text: (row) => headsOf(row, at).map(signed).join(" "),
    sort: (row) => {
      const known = headsOf(row, at).filter((value) => value !== null && value !== undefined);
      return known.length ? Math.min(...known) : null;
    },
    cell: (row) => headClass(headsOf(row, at)),
  }));
}

function combinationTables(shown) {
  if (!plan.combinations.length) return [];
  const ranges = (row) => shown.map((need) => row.ranges[need]).filter(Boolean).join("; ");
  const columns = [
    { name: "Rank", text: (row) => row.rank, kind: "n" },
    ...shown.map((need) => ({ name: plan.needs[need].name, text: (row) => row.ranges[need] || NONE, kind: "name" })),
    { name: "Stops met", text: (row) => row.met, sort: (row) => row.order[1], kind: "n" },
    { name: "Worst stop", text: (row) => row.worst },
    { name: "Headroom there", text: (row) => shown.map((need) => row.headrooms[need]).join(" / "), kind: "n" },
    { name: "Lines retuned", text: (row) => row.retunes, sort: (row) => row.order[2], kind: "n" },
    { name: "Chance at all stops", text: (row) => row.chance, sort: (row) => row.order[3], kind: "n" },
    { name: "Why", text: (row) => row.why, kind: "wide" },
  ];
  const matrix = [
    { name: "Combination", text: (row) => `${row.rank}. ${ranges(row)}`, sort: (row) => row.order[0], head: true, kind: "name" },
    ...stopColumns((row, at) => shown.map((need) => (row.heads[at] || [])[need])),
  ];
  const more = plan.combinations_more ? ` (${plan.combinations_more} more in plan.json)` : "";
  const names = shown.map((need) => plan.needs[need].name).join(", ");
  return [
    make("h3", {}, "All needs together"),
    makeTable(columns, plan.combinations, { caption: `Combinations of ranges, coordinated together${more}` }),
    makeTable(matrix, plan.combinations, {
      caption: `Headroom stop by stop, with all needs on the air: ${names}. Filled cells fall short; underlined ones have nothing over.`,
      kind: "heads",
    }),
  ];
}

function needTables(need) {
  const rows = plan.ranking.filter((row) => row.need === need);
  if (!rows.length) return [];
  const columns = [
    { name: "Range", text: (row) => row.range + (row.chosen ? " (chosen)" : ""), head: true, kind: "name" },
    { name: "Rank", text: (row) => row.rank, kind: "n" },
    { name: "Stops met", text: (row) => row.met, sort: (row) => row.order[1], kind: "n" },
    { name: "Worst stop", text: (row) => row.worst },
    { name: "Headroom there", text: (row) => row.headroom, kind: "n" },
    { name: "At most", long: "Proven bound of the headroom", text: (row) => row.limit, kind: "n" },
    { name: "Shared MHz", text: (row) => row.common, kind: "n" },
    { name: "Why", text: (row) => row.why, kind: "wide" },
  ];
  const matrix = [
    { name: "Range", text: (row) => row.range, sort: (row) => row.order[0], head: true, kind: "name" },
    ...stopColumns((row, at) => [row.heads[at]]),
  ];
  const name = plan.needs[need].name;
  return [
    make("h3", {}, `${name} alone`),
    make("p", { class: "grey" }, `Wanted: ${plan.needs[need].wanted}. Counted as if nothing else of ours were on the air.`),
    makeTable(columns, rows, { caption: `Ranges compared for ${name}` }),
    makeTable(matrix, rows, { caption: `Headroom of ${name} alone, stop by stop. Filled cells fall short; underlined ones have nothing over.`, kind: "heads" }),
  ];
}

function makeRanges(host) {
  watch(["role"], () => {
    const shown = plan.needs.map((_, at) => at).filter(needShown);
    const parts = shown.length ? [...combinationTables(shown), ...shown.flatMap(needTables)] : [];
    fill(host, ...(parts.length ? parts : [make("p", {}, "Nothing is ranked for this role.")]));
  });
}
