export { default, later } from "words:de";
