// The code of a scanned square stands behind the # of the address: it is put into the form and taken out of the address.

const code = document.getElementById("code");

function take() {
  const scanned = decodeURIComponent(location.hash.slice(1)).replace(/[^0-9A-Za-z-]/g, "").slice(0, 20);
  if (!code || !scanned || location.hash === "#work") return;
  code.value = scanned;
  history.replaceState(null, "", location.pathname + location.search);
  document.getElementById("name").focus();
}

take();
addEventListener("hashchange", take);
