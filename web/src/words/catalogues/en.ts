export { default } from "words:en";
