export { default, later } from "words:pt";
