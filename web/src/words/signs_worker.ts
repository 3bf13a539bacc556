/*
 * Writes one day beside the page, which is about to write its first. That takes as long as drawing half the
 * round, since the browser reads its tables for it; once one thread has read them, the others have them too.
 */
declare const self: DedicatedWorkerGlobalScope;

new Intl.DateTimeFormat(navigator.language, { weekday: "long", day: "numeric", month: "long" }).format();
self.close();

export {};
