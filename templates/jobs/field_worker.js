/* Keeps the field pages and their files on the phone, so that they open without a signal. Data is never kept here.
   Version {{ version }} */
const KEPT = "stairhead-field-{{ version }}";
const SHELL = "{{ shell|escapejs }}";
const SCOPE = "{{ scope|escapejs }}";
const FILES = [{% for asset in assets %}"{{ asset|escapejs }}"{% if not forloop.last %}, {% endif %}{% endfor %}];

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(KEPT)
      .then((kept) => kept.addAll([SHELL, ...FILES].map((file) => new Request(file, { cache: "reload", credentials: "omit" }))))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => names.filter((name) => name.startsWith("stairhead-field-") && name !== KEPT))
      .then((old) => Promise.all(old.map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

const isPage = (request, path) => request.mode === "navigate" && /^([A-Za-z0-9-]+\/)?$/.test(path.slice(SCOPE.length));

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== self.location.origin) return;
  if (address.pathname.startsWith(SCOPE) && isPage(event.request, address.pathname)) {
    event.respondWith(caches.match(SHELL, { cacheName: KEPT }).then((shell) => shell ?? fetch(event.request)));
  } else if (FILES.includes(address.pathname)) {
    event.respondWith(caches.match(address.pathname, { cacheName: KEPT }).then((file) => file ?? fetch(event.request)));
  }
});
