/** The app's version, put in by the build from package.json. */
declare const __APP_VERSION__: string;

/** The files of the fold, put in by the build. */
declare const __FOLD__: import("./core/files").FoldFiles;

/** All messages of a language, put together by the build. */
declare module "words:*" {
  const catalogue: Readonly<Record<string, string>>;
  export default catalogue;
  export const later: () => Promise<{ default: Readonly<Record<string, string>> }>;
}
