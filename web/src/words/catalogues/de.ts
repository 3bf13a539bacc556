export { default } from "words:de";
