// A ringed pin that is touched is taken: the same as its button in the list, which is where its address leads without
// scripts.

for (const ringed of document.querySelectorAll("a[data-take]")) {
  ringed.addEventListener("click", (event) => {
    const button = document.getElementById(`take-${ringed.dataset.take}`);
    if (!button || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    button.click();
  });
}
