// Opens a report in a headless browser over its debugging pipe and measures it: messages, network,
// overflow, contrast, names of figures, order of headings. Writes pictures of the page and PDFs.
//
//   node check_report.mjs BROWSER REPORT.html FOLDER
//
// No packages: two pipes and JSON.

import { spawn } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [browser, report, folder] = process.argv.slice(2);
if (!folder) {
  console.error("usage: check_report.mjs BROWSER REPORT.html FOLDER");
  process.exit(2);
}

const profile = mkdtempSync(join(tmpdir(), "report-profile-"));
const child = spawn(
  browser,
  [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--hide-scrollbars", "--disable-dev-shm-usage", `--user-data-dir=${profile}`, "--remote-debugging-pipe", "about:blank",
  ],
  { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] },
);

let next = 0;
const waiting = new Map();
const listeners = [];
let buffer = Buffer.alloc(0);
child.stdio[4].on("data", (bytes) => {
  buffer = Buffer.concat([buffer, bytes]);
  for (let end = buffer.indexOf(0); end >= 0; end = buffer.indexOf(0)) {
    const message = JSON.parse(buffer.subarray(0, end).toString());
    buffer = buffer.subarray(end + 1);
    if (message.id) {
      const { done, failed } = waiting.get(message.id);
      waiting.delete(message.id);
      message.error ? failed(new Error(JSON.stringify(message.error))) : done(message.result);
    } else {
      listeners.forEach((listen) => listen(message));
    }
  }
});
const gone = new Promise((_, failed) => child.on("exit", (code) => failed(new Error(`the browser ended with ${code}`))));
gone.catch(() => {});
let session;
function send(method, params = {}) {
  const id = ++next;
  const answer = new Promise((done, failed) => waiting.set(id, { done, failed }));
  child.stdio[3].write(JSON.stringify({ id, method, params, sessionId: session }) + "\0");
  return Promise.race([answer, gone]);
}
const patience = setTimeout(() => {
  console.error("the browser does not answer");
  child.kill();
  process.exit(1);
}, 120_000);

const faults = [];
const fault = (where, what) => faults.push(`${where}: ${what}`);

// Runs inside the page. Returns what is wrong, in words.
function inspect() {
  const wrong = [];
  const root = document.documentElement;
  if (root.scrollWidth > innerWidth) wrong.push(`scrolls sideways: ${root.scrollWidth} px in ${innerWidth}`);
  const shown = (e) => e.getClientRects().length > 0;
  for (const e of document.querySelectorAll("body *")) {
    if (!shown(e) || e.closest("svg") !== null && e.tagName !== "svg") continue;
    const box = e.getBoundingClientRect();
    const clipped = getComputedStyle(e.closest("thead") ?? e).clipPath !== "none";
    if (!clipped && (box.right > innerWidth + 1 || box.left < -1)) wrong.push(`<${e.tagName}> leaves the page: ${box.left} to ${box.right}`);
    if (!clipped && e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && getComputedStyle(e).display !== "inline" && e.tagName !== "svg")
      wrong.push(`<${e.tagName} class="${e.className}"> is too narrow for "${e.textContent.trim().slice(0, 40)}": ${e.scrollWidth} in ${e.clientWidth}`);
    if (e.tagName === "svg" && box.width > e.parentElement.getBoundingClientRect().width + 1) wrong.push("a figure is wider than its place");
  }
  // Labels of the figures, as read: CSS pixels of the text.
  for (const svg of document.querySelectorAll("svg")) {
    if (!shown(svg)) continue;
    const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    for (const t of svg.querySelectorAll("text")) {
      const size = parseFloat(getComputedStyle(t).fontSize) * scale;
      if (size < 8.5) { wrong.push(`text of ${size.toFixed(1)} px in ${svg.id}: ${t.textContent.trim()}`); break; }
    }
    const frame = svg.getBoundingClientRect();
    for (const t of svg.querySelectorAll("text")) {
      const b = t.getBoundingClientRect();
      if (b.left < frame.left - 1 || b.right > frame.right + 1 || b.top < frame.top - 1 || b.bottom > frame.bottom + 1)
        wrong.push(`text leaves ${svg.id}: ${t.textContent.trim()}`);
    }
    const named = document.getElementById(svg.getAttribute("aria-labelledby"));
    const described = document.getElementById(svg.getAttribute("aria-describedby"));
    if (svg.getAttribute("role") !== "img" || !named?.textContent || !described?.textContent) wrong.push(`${svg.id} has no name`);
    if (!svg.contains(named) || !svg.contains(described)) wrong.push(`${svg.id} borrows its name`);
  }
  // WCAG 2.1, relative luminance and contrast ratio; 4.5 is the bound for text (success criterion 1.4.3).
  const light = (c) => {
    const f = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    return 0.2126 * f(c[0]) + 0.7152 * f(c[1]) + 0.0722 * f(c[2]);
  };
  const rgba = (text) => { const n = text.match(/[\d.]+/g).map(Number); return n.length > 3 ? n : [...n, 1]; };
  const ground = (e) => {
    for (; e; e = e.parentElement) { const c = rgba(getComputedStyle(e).backgroundColor); if (c[3] > 0) return c; }
    return [255, 255, 255, 1];
  };
  const seen = new Map();
  let texts = 0;
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || e.closest("svg") || !shown(e)) continue;
    texts++;
    const [a, b] = [light(rgba(getComputedStyle(e).color)), light(ground(e))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    seen.set(e.className || e.tagName, Math.min(ratio, seen.get(e.className || e.tagName) ?? 99));
    if (parseFloat(getComputedStyle(e).fontSize) < 12) wrong.push(`small text: ${walk.currentNode.data.slice(0, 40)}`);
  }
  for (const [what, ratio] of seen) if (ratio < 4.5) wrong.push(`contrast ${ratio.toFixed(2)} of ${what}`);
  if (texts < 50) wrong.push(`only ${texts} texts seen`);
  const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
  if (new Set(ids).size !== ids.length) wrong.push("identifiers are not unique");
  for (const a of document.querySelectorAll("a[href]"))
    if (!document.getElementById(a.getAttribute("href").slice(1))) wrong.push(`${a.href} leads nowhere`);
  for (const e of document.querySelectorAll("[aria-labelledby]"))
    if (!document.getElementById(e.getAttribute("aria-labelledby"))) wrong.push("a label that is not there");
  let level = 0;
  for (const h of document.querySelectorAll("h1, h2, h3, h4")) {
    const n = Number(h.tagName[1]);
    if (n > level + 1) wrong.push(`${h.tagName} after h${level}: ${h.textContent}`);
    level = n;
  }
  return { wrong, lowest: Math.min(...seen.values()), texts, figures: document.querySelectorAll("figure").length };
}

async function evaluate(fn) {
  const { result, exceptionDetails } = await send("Runtime.evaluate", { expression: `(${fn})()`, returnByValue: true });
  if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
  return result.value;
}

try {
  const { targetId } = await send("Target.createTarget", { url: "about:blank" });
  ({ sessionId: session } = await send("Target.attachToTarget", { targetId, flatten: true }));
  for (const domain of ["Page", "Runtime", "Log", "Network"]) await send(`${domain}.enable`);
  const address = pathToFileURL(resolve(report)).href;
  let loads = 0;
  listeners.push(({ method, params }) => {
    if (method === "Runtime.consoleAPICalled" || method === "Runtime.exceptionThrown") fault("console", JSON.stringify(params));
    if (method === "Log.entryAdded") fault("log", params.entry.text);
    if (method === "Network.requestWillBeSent") {
      if (params.request.url === address) loads++;
      else if (!params.request.url.startsWith("data:")) fault("network", params.request.url);
    }
  });
  for (const [name, width, height, mobile] of [["desktop", 1280, 900, false], ["phone", 360, 740, true], ["small", 320, 600, true]]) {
    await send("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: mobile ? 2 : 1, mobile });
    const loaded = new Promise((done) => listeners.push(({ method }) => method === "Page.loadEventFired" && done()));
    await send("Page.navigate", { url: address });
    await Promise.race([loaded, gone]);
    const found = await evaluate(inspect);
    found.wrong.forEach((w) => fault(name, w));
    console.log(`${name} ${width} px: ${found.texts} texts, ${found.figures} figures, lowest contrast ${found.lowest.toFixed(1)}`);
    const { cssContentSize: size } = await send("Page.getLayoutMetrics");
    // In screens of one height, so that each picture can be looked at.
    const tall = 1800;
    for (let top = 0, n = 1; top < size.height; top += tall, n++) {
      const { data } = await send("Page.captureScreenshot", {
        captureBeyondViewport: true,
        clip: { x: 0, y: top, width, height: Math.min(tall, size.height - top), scale: mobile ? 0.75 : 0.8 },
      });
      writeFileSync(join(folder, `${name}-${String(n).padStart(2, "0")}.png`), Buffer.from(data, "base64"));
    }
  }
  if (loads < 3) fault("network", `the page was loaded ${loads} times of 3`);
  await send("Emulation.clearDeviceMetricsOverride");
  for (const [name, paperWidth, paperHeight] of [["a4", 8.27, 11.69], ["letter", 8.5, 11]]) {
    // The width of the text block: paper less the margins of the style, at 96 px an inch.
    const width = Math.floor((paperWidth - 30 / 25.4) * 96);
    await send("Emulation.setDeviceMetricsOverride", { width, height: 900, deviceScaleFactor: 1, mobile: false });
    await send("Emulation.setEmulatedMedia", { media: "print" });
    const cut = await evaluate(() => {
      const bad = [];
      if (document.documentElement.scrollWidth > innerWidth) bad.push(`the page is ${document.documentElement.scrollWidth} px of ${innerWidth}`);
      for (const e of document.querySelectorAll("table, td, th, svg, figure"))
        if (e.getClientRects().length > 0 && (e.getBoundingClientRect().right > innerWidth + 1 || e.scrollWidth > e.clientWidth + 1 && e.tagName !== "svg"))
          bad.push(`<${e.tagName} class="${e.className}"> is cut: ${e.textContent.trim().slice(0, 40)}`);
      return bad;
    });
    cut.forEach((c) => fault(name, c));
    await send("Emulation.setEmulatedMedia", { media: "" });
    await send("Emulation.clearDeviceMetricsOverride");
    const { data } = await send("Page.printToPDF", { paperWidth, paperHeight, preferCSSPageSize: false, printBackground: false });
    writeFileSync(join(folder, `${name}.pdf`), Buffer.from(data, "base64"));
  }
} catch (e) {
  fault("run", e.stack);
} finally {
  clearTimeout(patience);
  child.removeAllListeners("exit");
  child.kill();
  await new Promise((done) => (child.exitCode !== null || child.signalCode !== null ? done() : child.on("exit", done)));
  rmSync(profile, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 });
}
for (const f of faults) console.error(`FAULT ${f}`);
console.log(faults.length === 0 ? `ok: ${report}` : `${faults.length} faults in ${report}`);
process.exit(faults.length === 0 ? 0 : 1);
