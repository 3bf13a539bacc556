export { default } from "words:pt";
