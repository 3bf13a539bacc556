export { default, later } from "words:es";
