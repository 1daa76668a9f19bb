/* Pins on a drawing: a click, or arrow keys and Enter, fill the fix form. Listens on the document, so that parts
   which arrive later work too. Without this script the form's own number fields do the same. */
(() => {
  const NEAR = 0.5, FAR = 5;
  const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const places = new WeakMap();

  const crosshair = (board) => {
    let mark = board.querySelector(".drawing-crosshair");
    if (!mark) {
      mark = document.createElement("span");
      mark.className = "drawing-crosshair";
      mark.setAttribute("aria-hidden", "true");
      board.append(mark);
    }
    return mark;
  };

  const show = (board, place) => {
    places.set(board, place);
    const mark = crosshair(board);
    mark.style.left = `${place[0]}%`;
    mark.style.top = `${place[1]}%`;
  };

  const pin = (board, place) => {
    show(board, place);
    const form = document.querySelector(".pin-form");
    if (!form) return;
    form.elements.page.value = board.dataset.page;
    form.elements.across.value = place[0].toFixed(3);
    form.elements.down.value = place[1].toFixed(3);
    document.querySelectorAll(".drawing-crosshair.set").forEach((mark) => mark.classList.remove("set"));
    crosshair(board).classList.add("set");
    form.elements.text.focus({ preventScroll: window.innerWidth > 960 });
  };

  const within = (share) => Math.min(100, Math.max(0, share));

  document.addEventListener("click", (event) => {
    const board = event.target.closest("[data-pinning]");
    if (!board) return;
    const box = board.getBoundingClientRect();
    pin(board, [
      within(((event.clientX - box.left) / box.width) * 100),
      within(((event.clientY - box.top) / box.height) * 100),
    ]);
  });

  document.addEventListener("keydown", (event) => {
    const board = event.target.closest("[data-pinning]");
    if (!board || event.ctrlKey || event.metaKey || event.altKey) return;
    const place = places.get(board) || [50, 50];
    const move = MOVES[event.key];
    if (move) {
      const step = event.shiftKey ? FAR : NEAR;
      show(board, [within(place[0] + move[0] * step), within(place[1] + move[1] * step)]);
    } else if (event.key === "Enter") {
      pin(board, place);
    } else {
      return;
    }
    event.preventDefault();
  });

  document.addEventListener("focusin", (event) => {
    const board = event.target.closest("[data-pinning]");
    if (board && !places.has(board)) show(board, [50, 50]);
  });
})();
