/* Says what an option would be worth while its price is typed. Without this script a button asks. */

const WAIT_MS = 350;

const form = document.getElementById("entry");
const place = document.getElementById("worth");
let asked = 0;
let waiting;

async function ask() {
  const turn = ++asked;
  let said;
  try {
    const answer = await fetch(place.dataset.address, {
      method: "POST",
      body: new FormData(form),
      headers: { "X-Part": "worth" },
    });
    said = answer.ok ? await answer.text() : null;
  } catch {
    said = null; /* no network: the price can still be saved */
  }
  if (turn !== asked) return;
  place.replaceChildren();
  if (said === null) place.textContent = place.dataset.unreached;
  else place.innerHTML = said;
}

form?.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(ask, WAIT_MS);
});
if (form && place) ask();
