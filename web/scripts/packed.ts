import { brotliCompressSync, constants } from "node:zlib";
import type { Plugin } from "vite";

/** Slow is well here: it is done once, and each phone fetches it. */
const BROTLI_QUALITY = 11;
const TEXT = /\.(js|css)$/;

/** Lays beside each script and sheet of the build the same one packed, for browsers that take it so. */
export function packed(): Plugin {
  return {
    name: "packed",
    generateBundle: {
      order: "post",
      handler(_options, bundle) {
        for (const file of Object.values(bundle)) {
          if (!TEXT.test(file.fileName)) continue;
          const content = Buffer.from(file.type === "chunk" ? file.code : file.source);
          const params = { [constants.BROTLI_PARAM_QUALITY]: BROTLI_QUALITY };
          this.emitFile({
            type: "asset",
            fileName: `${file.fileName}.br`,
            source: brotliCompressSync(content, { params }),
          });
        }
      },
    },
  };
}
