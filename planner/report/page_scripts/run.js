// Everything is put on the page here; the address keeps the chosen stop and role.

const THEMES = ["", "light", "dark"];

function makeTheme() {
  const button = byId("theme");
  let theme = "";
  try {
    theme = window.localStorage.getItem("passband-theme") || "";
  } catch {
    theme = "";
  }
  function show() {
    if (theme) document.documentElement.setAttribute("data-theme", theme);
    else document.documentElement.removeAttribute("data-theme");
    button.textContent = `Light or dark: ${theme || "as the system"}`;
  }
  button.addEventListener("click", () => {
    theme = THEMES[(THEMES.indexOf(theme) + 1) % THEMES.length];
    try {
      window.localStorage.setItem("passband-theme", theme);
    } catch {
      // a file without storage forgets the choice, no more
    }
    show();
  });
  show();
}

function makeRole() {
  const select = byId("role");
  const roles = new Set([...plan.needs.map((need) => need.role), ...plan.stops.flatMap((stop) => stop.carriers.map((one) => one.role))]);
  for (const role of [...roles].filter(Boolean).sort()) select.append(make("option", { value: role }, role));
  select.addEventListener("change", () => change({ role: select.value }));
  watch(["role"], () => {
    select.value = state.role;
  });
}

/** Read the chosen stop and role from the address, e.g. #stop=omaha-1&role=mic. */
function readAddress() {
  const hash = window.location.hash.slice(1);
  if (!hash.includes("=")) return;
  const asked = new URLSearchParams(hash);
  const at = plan.stops.findIndex((stop) => stop.id === asked.get("stop"));
  const role = asked.get("role") || "";
  const known = [...byId("role").options].some((option) => option.value === role);
  change({ stop: at >= 0 ? at : state.stop, role: known ? role : state.role });
}

function keepAddress() {
  const asked = new URLSearchParams();
  asked.set("stop", currentStop().id);
  if (state.role) asked.set("role", state.role);
  try {
    window.history.replaceState(null, "", `#${asked}`);
  } catch {
    // some viewers keep no history of a file
  }
}

makeTheme();
makeRole();
if (plan.stops.length) {
  readAddress();
  routeTable(byId("route-table"));
  makeMap(byId("map"));
  routePicture(byId("route-picture"));
  makeStop(byId("stop-body"));
  makeRanges(byId("ranges-body"));
  makeFind();
  let first = true;
  watch(["stop", "role"], () => {
    if (!first) keepAddress();
    first = false;
  });
  window.addEventListener("hashchange", readAddress);
}
