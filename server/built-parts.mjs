// What is built, each part into a folder of its own under `.build`. Plain script, so that set-up can use it.

/** @type {Readonly<Record<string, string>>} name of the folder, and the configuration that builds it */
export const BUILT_PARTS = {
  server: 'server/vite.config.ts',
  studio: 'renderer/page/vite.config.ts',
  web: 'web/vite.config.ts',
};
