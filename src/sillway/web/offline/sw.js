// Keeps the pages that say they may be kept, and shows them when there is no signal.
// The view that serves this puts SETTINGS before it.
const { version, files, statics } = SETTINGS;
const SHELL = "shell-" + version;
const PAGES = "pages";
const AWAY = "/offline/away/";
const LIST = "/offline/";
const SIGN_OUT = "/accounts/sign-out/";
// A page on the phone is shown when the lot has not answered within this time. [ms]
const PATIENCE = 4000;
const ANY = { ignoreVary: true };

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) return;
  if (event.request.method === "POST" && url.pathname === SIGN_OUT) {
    event.waitUntil(forget());
    return;
  }
  if (event.request.method !== "GET") return;
  if (url.pathname.startsWith(statics)) event.respondWith(fromShell(event));
  else if (event.request.mode === "navigate" || event.request.headers.has("Sillway-Take"))
    event.respondWith(page(event.request, url));
});

async function install() {
  const shell = await caches.open(SHELL);
  await Promise.allSettled([...files.map((url) => shell.add(url)), take(AWAY), take(LIST)]);
  await self.skipWaiting();
}

async function activate() {
  for (const name of await caches.keys())
    if (name.startsWith("shell-") && name !== SHELL) await caches.delete(name);
  await self.clients.claim();
}

// After a sign-out only what says nothing of anybody stays.
async function forget() {
  const pages = await caches.open(PAGES);
  for (const one of await pages.keys()) {
    const path = new URL(one.url).pathname;
    if (path !== AWAY) await pages.delete(one);
  }
  await take(LIST);
}

async function take(url) {
  const response = await fetch(url, { credentials: "same-origin", headers: { "Sillway-Take": "1" } });
  await keep(url, response);
}

async function keep(url, response) {
  if (!response.ok || response.redirected || response.headers.get("Sillway-Keep") !== "yes") return;
  const pages = await caches.open(PAGES);
  await pages.put(url, response.clone());
}

async function fromShell(event) {
  const shell = await caches.open(SHELL);
  const known = await shell.match(event.request, ANY);
  const fresh = fetch(event.request).then(async (response) => {
    if (response.ok) await shell.put(event.request, response.clone());
    return response;
  });
  if (!known) return fresh;
  event.waitUntil(fresh.catch(() => undefined));
  return known;
}

async function page(request, url) {
  const pages = await caches.open(PAGES);
  const known = await pages.match(url.pathname, ANY);
  const fresh = fetch(request).then(async (response) => {
    await keep(url.pathname, response);
    return response;
  });
  fresh.catch(() => undefined);
  try {
    if (!known) return await fresh;
    return await Promise.race([fresh, late(known.clone())]);
  } catch {
    return known || (await pages.match(AWAY, ANY)) || Response.error();
  }
}

function late(known) {
  return new Promise((resolve) => setTimeout(() => resolve(known), PATIENCE));
}
