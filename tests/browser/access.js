// Faults of access of a page, after WCAG 2.2 (criteria 1.1.1, 1.3.1, 1.4.3, 2.4.6, 2.5.8, 3.1.1, 4.1.2).
(() => {
  const faults = [];
  const named = (e) => (e.getAttribute('aria-label') || e.title || e.textContent || '').trim()
    || (e.labels && e.labels.length) || (e.getAttribute('aria-labelledby') || '').split(' ')
      .some((id) => id && document.getElementById(id));
  for (const e of document.querySelectorAll('button, a, input, select, [role=application], [role=group]'))
    if (!named(e)) faults.push('no name: ' + e.outerHTML.slice(0, 90));
  const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
  for (const id of new Set(ids)) if (ids.filter((one) => one === id).length > 1) faults.push('twice: ' + id);
  for (const key of ['aria-labelledby', 'aria-describedby'])
    for (const e of document.querySelectorAll(`[${key}]`))
      for (const id of e.getAttribute(key).split(' '))
        if (!document.getElementById(id)) faults.push(`${key}: ${id}`);
  let before = 0;
  for (const e of document.querySelectorAll('h1, h2, h3, h4')) {
    const level = Number(e.tagName[1]);
    if (level > before + 1) faults.push('heading leaps: ' + e.textContent);
    before = level;
  }
  if (document.querySelectorAll('h1').length !== 1) faults.push('not one h1');
  if (!document.documentElement.lang) faults.push('no language');
  for (const part of ['main', 'header', 'footer', 'nav'])
    if (document.querySelectorAll(part).length !== 1) faults.push('not one ' + part);
  for (const e of document.querySelectorAll('table')) {
    if (!e.querySelector('th[scope]')) faults.push('a table without heads');
    if (!e.caption) faults.push('a table without a caption');
  }
  const light = (colour) => {
    const [r, g, b] = colour.match(/[\d.]+/g).map((part) => Number(part) / 255)
      .map((part) => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/, 0\)$|transparent/.test(colour)) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  for (const e of document.querySelectorAll('p, li, td, th, dt, dd, a, button, h1, h2, h3, label, caption, summary')) {
    if (!e.offsetParent || e.disabled || ![...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim())) continue;
    const pair = [light(getComputedStyle(e).color), light(ground(e))].sort((a, b) => b - a);
    const ratio = (pair[0] + 0.05) / (pair[1] + 0.05);
    if (ratio < 4.5) faults.push(`contrast ${ratio.toFixed(1)}: ${e.tagName} ${e.textContent.slice(0, 40)}`);
  }
  for (const e of document.querySelectorAll('main button, header button, nav a, select, input')) {
    const box = e.getBoundingClientRect();
    if (e.offsetParent && (box.height < 23.5 || box.width < 20)) faults.push(`small: ${e.outerHTML.slice(0, 80)}`);
  }
  return [...new Set(faults)];
})()
