// The brief: as soon as an answer changes, what the wishes add and what it all comes to is asked for anew.

const form = document.querySelector("form.brief");
let asked = 0;

async function told() {
  const mine = ++asked;
  const answer = await fetch(`/brief?${new URLSearchParams(new FormData(form))}`);
  if (!answer.ok || mine !== asked) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const help of form.querySelectorAll(".help")) {
    const now = page.getElementById(help.id);
    if (now) help.replaceChildren(...now.childNodes);
  }
  const [old, sum] = [form, page].map((where) => where.querySelector("[role=status]"));
  if (old && sum) old.replaceChildren(...sum.childNodes);
}

form?.addEventListener("change", () => void told());
