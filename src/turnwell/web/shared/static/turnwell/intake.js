/* Sends cycle records in goes small enough for one form, whole folders too, and shows how far
   reading them is. Without this script the form sends up to a hundred files by itself and the
   page of the intake is looked at again by hand. */

const MOST_FILES = 50;
const MOST_BYTES = 40_000_000;
const LOOK_AGAIN_MS = 1500;
const SLOWEST_MS = 15_000;

/* ── sending ───────────────────────────────────────────────────────────── */

function goesOf(files) {
  const goes = [];
  let bytes = 0;
  for (const file of files) {
    const last = goes.at(-1);
    if (!last || last.length >= MOST_FILES || bytes + file.size > MOST_BYTES) {
      goes.push([file]);
      bytes = file.size;
    } else {
      last.push(file);
      bytes += file.size;
    }
  }
  return goes;
}

function entriesOf(reader) {
  return new Promise((resolve, reject) => reader.readEntries(resolve, reject));
}

function fileOf(entry) {
  return new Promise((resolve, reject) => entry.file(resolve, reject));
}

/* A folder hands out its entries a hundred at a time until it gives none. */
async function filesUnder(entry) {
  if (entry.isFile) return entry.name.startsWith(".") ? [] : [await fileOf(entry)];
  const reader = entry.createReader();
  const found = [];
  for (let some = await entriesOf(reader); some.length; some = await entriesOf(reader)) {
    for (const one of some) found.push(...(await filesUnder(one)));
  }
  return found;
}

async function dropped(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.length) return [...transfer.files];
  const found = await Promise.all(entries.map(filesUnder));
  return found.flat().sort((one, other) => one.name.localeCompare(other.name));
}

async function sendOne(address, token, files) {
  const form = new FormData();
  form.append("csrfmiddlewaretoken", token);
  for (const file of files) form.append("records", file, file.name);
  const answer = await fetch(address, {
    method: "POST",
    body: form,
    headers: { Accept: "application/json" },
    redirect: "error",
  });
  const said = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Error(said.refused || `The server answered ${answer.status}.`);
  return said;
}

function watchDrop(form) {
  const input = form.querySelector("input[type=file]");
  const says = form.querySelector("[data-drop-says]");
  const bar = form.querySelector("[data-drop-bar]");
  const button = form.querySelector("button[type=submit]");
  const token = form.querySelector("[name=csrfmiddlewaretoken]").value;
  let sending = false;
  form.querySelector("[data-folder-says]").hidden = false;

  async function send(files) {
    if (sending || !files.length) return;
    sending = true;
    button.disabled = true;
    bar.hidden = false;
    let sent = 0;
    let intake = null;
    try {
      for (const go of goesOf(files)) {
        says.textContent = `Sending ${sent} of ${files.length}. Keep this page open.`;
        const address = intake ? `/sterilizers/intakes/${intake.intake}/files/` : form.action;
        intake = await sendOne(address, token, go);
        sent += go.length;
        bar.value = sent / files.length;
      }
      says.textContent = `${sent} sent.`;
      location.assign(intake.address);
    } catch (error) {
      const kept = intake ? ` ${sent} of ${files.length} came through and are being read.` : "";
      says.textContent = `Not all was sent: ${error.message}${kept} Send the others again: those that came through are known.`;
      bar.hidden = true;
    } finally {
      sending = false;
      button.disabled = false;
    }
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send([...input.files]);
  });
  form.addEventListener("dragover", (event) => {
    event.preventDefault();
    form.classList.add("is-over");
  });
  form.addEventListener("dragleave", () => form.classList.remove("is-over"));
  form.addEventListener("drop", async (event) => {
    event.preventDefault();
    form.classList.remove("is-over");
    send(await dropped(event.dataTransfer));
  });
}

/* ── watching ──────────────────────────────────────────────────────────── */

async function look(wait) {
  const shown = document.querySelector("[data-intake]");
  if (!shown?.hasAttribute("data-goes-on")) return;
  let next = wait;
  try {
    const answer = await fetch(location.href, { redirect: "error" });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const now = page.querySelector("[data-intake]");
    if (!answer.ok || !now) throw new Error("no intake");
    // Nobody's place on the page is taken away while the keyboard stands in it.
    if (!shown.contains(document.activeElement) || !now.hasAttribute("data-goes-on")) {
      shown.replaceWith(document.adoptNode(now));
    }
    next = LOOK_AGAIN_MS;
  } catch {
    next = Math.min(2 * wait, SLOWEST_MS);
  }
  setTimeout(look, next, next);
}

for (const form of document.querySelectorAll("[data-drop]")) watchDrop(form);
setTimeout(look, LOOK_AGAIN_MS, LOOK_AGAIN_MS);
