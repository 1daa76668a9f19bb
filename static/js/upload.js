/* Shows how far an upload is, and says so when it breaks off. The form works without it. */
(() => {
  const parts = (event) => {
    const form = event.target.closest("[data-upload]");
    return form && { progress: form.querySelector(".upload-progress"), broken: form.querySelector(".upload-broken") };
  };

  const show = (event, sending) => {
    const found = parts(event);
    if (!found) return;
    found.progress.hidden = !sending;
    found.broken.hidden = sending;
  };

  document.addEventListener("htmx:beforeRequest", (event) => show(event, true));
  document.addEventListener("htmx:sendError", (event) => show(event, false));
  document.addEventListener("htmx:responseError", (event) => show(event, false));

  document.addEventListener("htmx:xhr:progress", (event) => {
    const found = parts(event);
    if (!found || !event.detail.lengthComputable) return;
    const percent = Math.round((event.detail.loaded / event.detail.total) * 100);
    found.progress.querySelector("progress").value = percent;
    found.progress.querySelector("output").value = `${percent} %`;
  });
})();
