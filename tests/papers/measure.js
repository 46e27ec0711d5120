// Runs in a copy of the folder: measures every page as laid out, and leaves what it found in the document.
const MM = 96 / 25.4, LEAST = 9 * 96 / 72 - 0.02;
const found = { pages: 0, outside: [], small: [], overlapping: [], pale: [], fetched: [], labels: 0, texts: 0 };
const told = (page, words) => `${page.id}: ${String(words).trim().slice(0, 60)}`;

function luminance(colour) {
  const [r, g, b] = colour.match(/[\d.]+/g).map(Number).map((c) => { c /= 255; return c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function behind(element) {
  for (let at = element; at; at = at.parentElement) {
    const colour = getComputedStyle(at).backgroundColor;
    if (!colour.startsWith("rgba(") || !colour.endsWith(", 0)")) return colour;
  }
  return "rgb(255, 255, 255)";
}
for (const page of document.querySelectorAll("section.page")) {
  found.pages += 1;
  const edge = page.getBoundingClientRect(), foot = page.querySelector("footer").getBoundingClientRect();
  const walk = document.createTreeWalker(page, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    if (!node.data.trim() || node.parentElement.closest("[aria-hidden]")) continue;
    const holder = node.parentElement, inSvg = holder.closest("svg"), look = getComputedStyle(holder);
    if (inSvg && ["title", "desc", "style"].includes(holder.tagName)) continue;
    found.texts += 1;
    const range = document.createRange();
    range.selectNodeContents(node);
    const rects = inSvg ? [holder.getBoundingClientRect()] : [...range.getClientRects()];
    const scale = inSvg ? Math.hypot(holder.getScreenCTM().a, holder.getScreenCTM().b) : 1;
    if (parseFloat(look.fontSize) * scale < LEAST) found.small.push(told(page, `${(parseFloat(look.fontSize) * scale * 72 / 96).toFixed(2)} pt: ${node.data}`));
    const [ink, paper] = [luminance(inSvg ? look.fill : look.color), inSvg ? null : luminance(behind(holder))];
    if (paper !== null && (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05) < 7) found.pale.push(told(page, node.data));
    const cell = holder.closest("td, th, .labels > div, header div, main"), room = (cell || page).getBoundingClientRect();
    for (const rect of rects) {
      const below = holder.closest("main") ? foot.top : edge.bottom;
      if (rect.left < edge.left + 9 * MM || rect.right > edge.right - 9 * MM || rect.bottom > below + 0.5 || rect.top < edge.top + 9 * MM)
        found.outside.push(told(page, `off the page: ${node.data}`));
      else if (!inSvg && (rect.right > room.right + 0.5 || rect.left < room.left - 0.5 || rect.bottom > room.bottom + 0.5))
        found.outside.push(told(page, `off its cell: ${node.data}`));
    }
  }
  for (const block of page.querySelectorAll("main > *, header > div > *")) {
    const rect = block.getBoundingClientRect();
    if (block.closest("main") && rect.bottom > foot.top + 0.5) found.outside.push(told(page, `below the foot: <${block.tagName}> ${block.textContent}`));
    if (block.closest("header") && block.scrollWidth > block.clientWidth + 1) found.outside.push(told(page, `cut in the head: ${block.textContent}`));
  }
  for (const svg of page.querySelectorAll("svg")) {
    const frame = svg.getBoundingClientRect();
    const labels = [...svg.querySelectorAll(".label")].map((label) => [label, label.getBoundingClientRect()]);
    found.labels += labels.length;
    labels.forEach(([label, a], k) => {
      if (a.left < frame.left - 0.5 || a.right > frame.right + 0.5 || a.top < frame.top - 0.5 || a.bottom > frame.bottom + 0.5)
        found.outside.push(told(page, `off the drawing: ${label.textContent}`));
      for (const [other, b] of labels.slice(k + 1)) {
        const [wide, high] = [Math.min(a.right, b.right) - Math.max(a.left, b.left), Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top)];
        // The box of a text holds room for descenders that lines close together share.
        if (wide > 0.5 && high > 0.25 * Math.min(a.height, b.height)) found.overlapping.push(told(page, `${label.textContent} | ${other.textContent}`));
      }
    });
  }
}
found.fetched = performance.getEntriesByType("resource").map((entry) => entry.name);
const out = document.createElement("pre");
out.id = "measured";
out.textContent = JSON.stringify(found);
document.body.append(out);
