// The code stands behind # in the address, which browsers send to nobody; here it goes into the form and out of sight.
const code = decodeURIComponent(location.hash.slice(1));
const field = document.getElementById("code");
if (code && field && !field.value) {
  field.value = code;
  history.replaceState(null, "", location.pathname);
  document.getElementById("name").focus();
}
