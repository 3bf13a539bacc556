export { default } from "words:es";
