/* A large log is sent with a count of what has gone, and can be stopped; without scripts the form sends it plainly. */
const form = document.querySelector("form[data-sends]");
form?.addEventListener("submit", (event) => {
  event.preventDefault();
  const told = form.querySelector("[data-told]");
  const bar = form.querySelector("progress");
  const stop = form.querySelector("[data-stop]");
  const request = new XMLHttpRequest();
  told.hidden = false;
  request.upload.addEventListener("progress", (sent) => {
    if (!sent.lengthComputable) return;
    bar.max = sent.total;
    bar.value = sent.loaded;
  });
  stop.addEventListener("click", () => request.abort(), { once: true });
  request.addEventListener("abort", () => { told.hidden = true; });
  request.onerror = () => { told.hidden = true; form.querySelector("[data-broken]").hidden = false; };
  request.addEventListener("load", () => {
    if (request.status < 300) location.assign(request.responseURL);
    else document.body.replaceWith(new DOMParser().parseFromString(request.responseText, "text/html").body);
  });
  request.open("POST", form.action);
  request.send(new FormData(form));
});
