export { default, later } from "words:fr";
