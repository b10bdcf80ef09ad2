// Makes the charts of a page answer to the pointer and to the buttons beside them. The server has
// drawn each chart already; the chart program is fetched only when one comes into view.

const MOST_CLOSE = 16;

for (const figure of document.querySelectorAll("[data-chart]")) {
  if (figure.dataset.program) whenInView(figure, () => enliven(figure));
}

function whenInView(figure, act) {
  const watch = new IntersectionObserver((entries) => {
    if (!entries.some((entry) => entry.isIntersecting)) return;
    watch.disconnect();
    act();
  }, { rootMargin: "200px" });
  watch.observe(figure);
}

async function enliven(figure) {
  await import(new URL(figure.dataset.program, document.baseURI));
  if (!figure.isConnected) return; // taken off the page while the program was on its way
  const specification = JSON.parse(document.getElementById(figure.dataset.chart).textContent);
  const drawing = figure.querySelector(".chart__drawing");
  const stage = document.createElement("div");
  let span = null;
  let view = null;

  const draw = async () => {
    const width = Math.floor(drawing.clientWidth);
    if (width < 100) return;
    const result = await window.vegaEmbed(stage, { ...specification, width }, {
      ast: true, actions: false, renderer: "svg", mode: "vega-lite",
      defaultStyle: false, tooltip: false,
    });
    view?.finalize();
    view = result.view;
    drawing.replaceChildren(stage);
    if (span) show(span);
  };
  const whole = [specification.params, []].flat()
    .reduce((found, param) => ({ ...found, [param.name]: param.value }), {});
  const show = ([from, to]) => {
    span = [from, to];
    view?.signal("from_s", from).signal("to_s", to).runAsync();
  };
  buttons(figure, [whole.from_s, whole.to_s], () => span, show);

  await draw();
  let drawnAt = drawing.clientWidth;
  new ResizeObserver(() => {
    if (Math.abs(drawing.clientWidth - drawnAt) < 2) return;
    drawnAt = drawing.clientWidth;
    draw();
  }).observe(drawing);
  figure.dataset.state = "live";
}

function buttons(figure, whole, current, show) {
  const acts = {
    closer: (from, to) => scaled(from, to, 0.5),
    wider: (from, to) => scaled(from, to, 2),
    earlier: (from, to) => moved(from, to, -0.25),
    later: (from, to) => moved(from, to, 0.25),
    whole: () => whole,
  };
  const length = whole[1] - whole[0];
  const within = ([from, to]) => {
    const size = Math.min(Math.max(to - from, length / MOST_CLOSE), length);
    const start = Math.min(Math.max(from, whole[0]), whole[1] - size);
    return [start, start + size];
  };
  const row = figure.querySelector(".chart__buttons");
  const adjust = ([from, to]) => {
    for (const button of row.querySelectorAll("button")) {
      const isWhole = to - from >= length * 0.999;
      const isOff = {
        closer: to - from <= length / MOST_CLOSE * 1.001,
        wider: isWhole, whole: isWhole,
        earlier: from <= whole[0] + length * 1e-6, later: to >= whole[1] - length * 1e-6,
      }[button.dataset.act];
      button.setAttribute("aria-disabled", String(isOff));
    }
  };
  adjust(whole);
  row.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || button.getAttribute("aria-disabled") === "true") return;
    const next = within(acts[button.dataset.act](...(current() ?? whole)));
    show(next);
    adjust(next);
  });
}

function scaled(from, to, factor) {
  const middle = (from + to) / 2;
  const half = (to - from) * factor / 2;
  return [middle - half, middle + half];
}

function moved(from, to, share) {
  const by = (to - from) * share;
  return [from + by, to + by];
}
