// Finds a Chromium-family browser. Plain script, so that set-up can use it before anything is installed.
import { accessSync, constants, existsSync, readdirSync } from 'node:fs';
import { homedir } from 'node:os';
import { delimiter, join } from 'node:path';

const NAMES = [
  'chromium',
  'chromium-browser',
  'google-chrome-stable',
  'google-chrome',
  'microsoft-edge',
  'brave-browser',
];
const MAC = [
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  '/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge',
];
const DOWNLOADED = [
  'chrome',
  'chrome.exe',
  'chrome-headless-shell',
  'Google Chrome for Testing.app/Contents/MacOS/Google Chrome for Testing',
];
const WINDOWS = ['Google\\Chrome\\Application\\chrome.exe', 'Microsoft\\Edge\\Application\\msedge.exe'];

/**
 * In this order: what was asked for, the system's, puppeteer's own download.
 * @param {string | null | undefined} asked path given by the user
 * @returns {string | null}
 */
export function findBrowser(asked) {
  if (asked) return asked;
  for (const folder of (process.env.PATH ?? '').split(delimiter).filter(Boolean)) {
    for (const name of NAMES) if (isExecutable(join(folder, name))) return join(folder, name);
  }
  if (process.platform === 'darwin') for (const path of MAC) if (isExecutable(path)) return path;
  if (process.platform === 'win32') {
    const roots = [process.env.PROGRAMFILES, process.env['PROGRAMFILES(X86)'], process.env.LOCALAPPDATA];
    for (const root of roots.filter(Boolean)) {
      for (const path of WINDOWS) if (existsSync(join(root, path))) return join(root, path);
    }
  }
  return findDownloaded();
}

/** Where puppeteer keeps the browsers it downloads. */
export const getDownloadFolder = () => process.env.PUPPETEER_CACHE_DIR ?? join(homedir(), '.cache', 'puppeteer');

/** puppeteer keeps `chrome/<platform>-<version>/chrome-<platform>/chrome` in that folder. */
function findDownloaded() {
  const cache = getDownloadFolder();
  for (const kind of ['chrome', 'chrome-headless-shell']) {
    for (const version of listFolders(join(cache, kind))) {
      for (const inner of listFolders(version)) {
        const path = DOWNLOADED.map((name) => join(inner, name)).find(isExecutable);
        if (path) return path;
      }
    }
  }
  return null;
}

/** Folders in a folder, the newest version first; partial downloads and other files are passed over. */
function listFolders(folder) {
  if (!existsSync(folder)) return [];
  return readdirSync(folder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map((entry) => join(folder, entry.name))
    .sort((a, b) => b.localeCompare(a, 'en', { numeric: true }));
}

function isExecutable(path) {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
