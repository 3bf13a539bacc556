import { changeOver } from "../words/language";

/** The app has its words before it draws anything; so have its tests. */
await changeOver("en", ["en"]);
