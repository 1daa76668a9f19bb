/* Shows how far an upload is. The form works without it. */
(() => {
  const part = (event) => event.target.closest("[data-upload]")?.querySelector(".upload-progress");

  document.addEventListener("htmx:beforeRequest", (event) => {
    const progress = part(event);
    if (progress) progress.hidden = false;
  });

  document.addEventListener("htmx:xhr:progress", (event) => {
    const progress = part(event);
    if (!progress || !event.detail.lengthComputable) return;
    const percent = Math.round((event.detail.loaded / event.detail.total) * 100);
    progress.querySelector("progress").value = percent;
    progress.querySelector("output").value = `${percent} %`;
  });

  const over = (event) => {
    const progress = part(event);
    if (progress) progress.hidden = true;
  };
  document.addEventListener("htmx:sendError", over);
  document.addEventListener("htmx:responseError", over);
})();
