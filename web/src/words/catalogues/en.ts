export { default, later } from "words:en";
