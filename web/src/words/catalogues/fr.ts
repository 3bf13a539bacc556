export { default } from "words:fr";
