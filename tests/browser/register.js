// What a page must hold to wherever it is looked at, measured on the page itself: returns one line a fault.
// A new page is measured by itself, since test_register.py takes its pages from the app's own list of addresses.
([phone, width]) => {
  const faults = [];
  document.querySelectorAll('.drawing').forEach((e) => e.classList.add('plotted')); // its buttons are measured too
  const say = (what, e) => faults.push(`${what}: <${e.tagName.toLowerCase()}${e.id ? '#' + e.id : ''}`
    + `${e.className && e.className.baseVal === undefined ? '.' + e.className.trim().replace(/\s+/g, '.') : ''}> `
    + JSON.stringify((e.innerText || e.textContent || e.name || '').trim().slice(0, 50)));
  const style = (e, part) => getComputedStyle(e, part);
  const shown = (e) => e.checkVisibility({opacityProperty: true, visibilityProperty: true})
    && !e.closest('.unseen, .skip, [aria-hidden=true]') && e.getBoundingClientRect().width > 1 && style(e).clipPath === 'none';

  // Nothing is wider than the screen.
  // A phone's browser widens its own window for what is too wide, so the width is given.
  if (document.documentElement.scrollWidth > width)
    faults.push(`wider than the screen: ${document.documentElement.scrollWidth} px of ${width}`);

  // Contrast (WCAG 2.2, 1.4.3 and 1.4.11): relative luminance of sRGB.
  const rgb = (said) => (said.match(/[\d.]+/g) || [0, 0, 0, 0]).map(Number);
  const light = (c) => c.slice(0, 3).map((v) => v / 255).map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ratio = (a, b) => { const [hi, lo] = [light(a), light(b)].sort((x, y) => y - x); return (hi + 0.05) / (lo + 0.05); };
  const ground = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const c = rgb(style(at).backgroundColor);
      if (c.length < 4 || c[3] > 0.99) return c;
    }
    return rgb(style(document.body).backgroundColor);
  };

  // What is touched.
  const controls = [...document.querySelectorAll('a[href], button, summary, select, textarea, input:not([type=hidden])')].filter(shown);
  const said = (e) => [...e.childNodes].map((n) => n.nodeType === 3 ? n.data : n.nodeType === 1 && n.matches('a[href], button, input, .unseen') ? '' : said(n)).join('');
  const block = (e) => { let at = e.parentElement; while (style(at).display.startsWith('inline') && at.tagName !== 'BODY') at = at.parentElement; return at; };
  const inProse = (a) => a.tagName === 'A' && style(a).display === 'inline' && /\p{L}{2}/u.test(said(block(a)));
  const box = (e) => (e.matches('[type=checkbox], [type=radio]') && e.closest('label') || e).getBoundingClientRect();
  const isPinned = (e) => { let at = e; while (at && !['fixed', 'sticky'].includes(style(at).position)) at = at.parentElement; return at !== null; };
  const boxes = [];
  for (const e of controls) {
    const prose = inProse(e), b = box(e), picture = e.tagName === 'A' && e.querySelector('img, svg') && !e.innerText.trim();
    if (phone && !prose && (b.width < 43.5 || b.height < 43.5)) say(`${b.width.toFixed(0)} by ${b.height.toFixed(0)} px to touch`, e);
    if (!prose) boxes.push([e, b]);
    const lined = style(e).textDecorationLine.includes('underline');
    const framed = style(e).borderTopStyle !== 'none' && parseFloat(style(e).borderTopWidth) >= 1;
    const filled = ratio(ground(e), ground(e.parentElement)) >= 3;
    const isButton = e.tagName === 'BUTTON' || e.matches('a.button');
    if (isButton && lined) say('a button underlined like a link', e);
    if (isButton && !framed && !filled) say('a button that does not look like one', e);
    if (framed && !filled && !e.matches('[type=checkbox], [type=radio], [type=file]') && ratio(rgb(style(e).borderTopColor), ground(e.parentElement)) < 3)
      say(`an edge of ${ratio(rgb(style(e).borderTopColor), ground(e.parentElement)).toFixed(1)}:1`, e);
    if (e.tagName === 'A' && !isButton && !picture && !e.closest('.mast') && !lined) say('a link that does not look like one', e);
    if (e.tagName === 'SUMMARY' && (lined || ['none', 'normal'].includes(style(e, '::before').content))) say('a disclosure that does not look like one', e);
  }
  boxes.forEach(([e, a], i) => boxes.slice(i + 1).forEach(([f, b]) => {
    if (e.contains(f) || f.contains(e) || (e.closest('label') && e.closest('label') === f.closest('label'))
      || [e, f].some((one) => one.closest('.plot') || isPinned(one))) return;
    const across = Math.min(a.right, b.right) - Math.max(a.left, b.left), down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    if (across > 2 && down > 2) say(`${across.toFixed(0)} by ${down.toFixed(0)} px shared with "${f.innerText || f.name}"`, e);
  }));

  // Four sizes of type, and the contrast of every word.
  const root = style(document.documentElement), px = (name) => parseFloat(root.getPropertyValue(name)) * parseFloat(root.fontSize);
  const sizes = ['--s1', '--s2', '--s3'].map(px);
  const worded = [...document.body.querySelectorAll('*')].filter((e) => !e.closest('svg, .plot, noscript, datalist')
    && (e.matches('input:not([type=hidden]), select, textarea') || [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim())) && shown(e)
    && !e.matches('option, [type=checkbox], [type=radio]'));
  for (const e of worded) {
    const size = parseFloat(style(e).fontSize);
    if (sizes[0] && !e.closest('.temp') && !sizes.some((one) => Math.abs(one - size) < 0.05)) say(`a fifth size, ${size} px`, e);
    const found = ratio(rgb(style(e).color), ground(e));
    if (found < 4.5) say(`${found.toFixed(2)}:1`, e);
    if (e.scrollWidth > e.clientWidth + 1 && style(e).overflowX === 'hidden') say('cut off', e);
  }
  if (document.querySelectorAll('.temp').length > 1) faults.push('the temperature stands twice');
  for (const e of document.querySelectorAll('svg text')) {
    if (!e.checkVisibility()) continue;
    const scale = e.ownerSVGElement.getBoundingClientRect().width / (e.ownerSVGElement.viewBox.baseVal.width || 1);
    const size = parseFloat(style(e).fontSize) * scale;
    if (!e.closest('.plot') && size < 10.5) say(`${size.toFixed(1)} px in a drawing`, e);
  }

  // One kind of apostrophe.
  const words = [...document.querySelectorAll('[aria-label], [alt], [placeholder], [title]')].flatMap((e) =>
    ['aria-label', 'alt', 'placeholder', 'title'].map((name) => e.getAttribute(name) || ''));
  const prose = worded.filter((e) => !e.closest('code, pre, textarea, input, .note')).map((e) => [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.data).join(' '));
  for (const line of [document.title, ...words, ...prose])
    if (/['`´‘]/.test(line)) faults.push(`another apostrophe: ${line.trim().slice(0, 70)}`);

  // The margin is for times; a form on a phone does without.
  if (phone) for (const e of document.querySelectorAll('.form > .field > input, .form > .field > select, .form > .field > textarea'))
    if (shown(e) && e.getBoundingClientRect().left > 24) say('a field beside an empty margin', e);

  // No choice is cut off: a box is as wide as the widest of its choices, also where it is folded away.
  const folded = [...document.querySelectorAll('details:not([open])')];
  folded.forEach((e) => { e.open = true; });
  for (const e of document.querySelectorAll('select')) {
    const wide = e.getBoundingClientRect().width, free = e.cloneNode(true);
    Object.assign(free.style, {position: 'absolute', width: 'max-content', maxWidth: 'none'});
    e.after(free);
    const needed = free.getBoundingClientRect().width;
    free.remove();
    if (wide && needed > wide + 1) say(`a choice of ${needed.toFixed(0)} px in a box of ${wide.toFixed(0)}`, e);
  }
  folded.forEach((e) => { e.open = false; });

  // Where a plan is drawn, a line of 3:1 and more says where.
  for (const svg of document.querySelectorAll('svg.trace')) {
    if (!svg.checkVisibility() || !svg.querySelector('.band')) continue;
    const line = svg.querySelector('.planned');
    const found = line ? ratio(rgb(style(line).stroke), rgb(style(document.body).backgroundColor)) : 0;
    if (found < 3) faults.push(`the plan's line has ${found.toFixed(2)}:1`);
  }
  return [...new Set(faults)];
}
