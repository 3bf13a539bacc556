import { render } from "preact";

const root = document.getElementById("app");
if (root) {
  render(<h1>Fallowside</h1>, root);
}
if ("serviceWorker" in navigator && import.meta.env.PROD) {
  void navigator.serviceWorker.register("/sw.js");
}
