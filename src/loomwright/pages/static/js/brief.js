// The brief: as soon as an answer changes, what the wishes add and what it all comes to is asked for anew. What was
// asked before and is not answered yet is let go; a thin copper line stands over the sum until it is told.

const form = document.querySelector("form.brief");
let asked = null;

async function told() {
  asked?.abort();
  const mine = (asked = new AbortController());
  form.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(`/brief?${new URLSearchParams(new FormData(form))}`, { signal: mine.signal });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const help of form.querySelectorAll(".help")) {
      const now = page.getElementById(help.id);
      if (now) help.replaceChildren(...now.childNodes);
    }
    const [old, sum] = [form, page].map((where) => where.querySelector("[role=status]"));
    if (old && sum) old.replaceChildren(...sum.childNodes);
  } catch (fault) {
    if (fault.name !== "AbortError") throw fault;
  } finally {
    if (mine === asked) form.removeAttribute("aria-busy");
  }
}

form?.addEventListener("change", () => void told());
