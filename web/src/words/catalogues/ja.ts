export { default } from "words:ja";
