export { default, later } from "words:ja";
