// The brief: once the answers rest, what the wishes add and what it all comes to is asked for anew. One question is out
// at a time, since the server works each of them through; answers that change meanwhile are asked for after it. A thin
// copper line stands over the sum until it is told.

const REST_MS = 300;
const form = document.querySelector("form.brief");
let resting = 0;
let asking = false;
let again = false;

function drawn(page) {
  for (const help of form.querySelectorAll(".help")) {
    const now = page.getElementById(help.id);
    if (!now) continue;
    help.parentElement.classList.toggle("is-wrong", now.parentElement.classList.contains("is-wrong"));
    help.replaceChildren(...now.childNodes);
  }
  for (const part of ["form.brief [role=status]", "#brief-margin"]) {
    const [old, now] = [document, page].map((where) => where.querySelector(part));
    if (old && now) old.replaceChildren(...now.childNodes);
  }
}

async function told() {
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  try {
    const answer = await fetch(`/brief?${new URLSearchParams(new FormData(form))}`);
    if (answer.ok && !again) drawn(new DOMParser().parseFromString(await answer.text(), "text/html"));
  } finally {
    asking = false;
    if (!again) form.removeAttribute("aria-busy");
  }
  if (again) {
    again = false;
    await told();
  }
}

form?.addEventListener("change", () => {
  form.setAttribute("aria-busy", "true");
  clearTimeout(resting);
  resting = setTimeout(() => void told(), REST_MS);
});
