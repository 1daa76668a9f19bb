/* Where the field pages begin: the light, the worker that keeps them, and the page that the address names. */

import { byId, words } from "./dom.js";
import { showHome } from "./home.js";
import { showWalk } from "./page.js";

const root = byId("field");
const home = root.dataset.home;

const light = byId("light");
const setLight = (wanted) => {
  document.documentElement.dataset.light = wanted;
  localStorage.setItem("field-light", wanted);
  light.textContent = wanted === "night" ? words.day : words.night;
};
setLight(localStorage.getItem("field-light") ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "night" : "day"));
light.addEventListener("click", () => setLight(document.documentElement.dataset.light === "night" ? "day" : "night"));

if ("serviceWorker" in navigator) {
  navigator.serviceWorker
    .register(root.dataset.worker, { scope: home })
    .then(() => navigator.serviceWorker.ready)
    .then(() => {
      document.documentElement.dataset.kept = "yes";
    })
    .catch((error) => console.warn("these pages will not open without a signal", error));
}
navigator.storage?.persist?.();

const number = decodeURIComponent(location.pathname.slice(home.length).replace(/\/$/, ""));
if (number) {
  byId("job-link").href = root.dataset.job.replace("NUMBER", number);
  byId("codes-link").href = root.dataset.codes.replace("NUMBER", number);
  byId("codes-link").hidden = false;
}
(number ? showWalk(home, number) : showHome(home)).catch((error) => {
  console.error(error);
  byId("trouble").hidden = false;
});
