import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type Arrow, arrows, classify, listImports, ROOT, SOURCE } from '../support/read-imports.ts';

/**
 * Which room may import what. Data and dependencies go one way: everything knows the core, the core knows only itself,
 * and only the composition root knows every room.
 */
type Room =
  | 'core'
  | 'actions'
  | 'gltf'
  | 'images'
  | 'usd'
  | 'threads'
  | 'http'
  | 'contracts'
  | 'import'
  | 'access'
  | 'planning'
  | 'demo'
  | 'db'
  | 'renderer'
  | 'page'
  | 'web'
  | 'config'
  | 'paths'
  | 'set-up'
  | 'root'
  | 'tools'
  | 'test'
  | 'elsewhere';

/** The room a file of the project is in, by its path from the top. */
function roomOf(path: string): Room {
  if (/(^|\/)vite\.config\.ts$/.test(path) || path.startsWith('server/pack/')) return 'tools';
  if (path.startsWith('server/core/')) return 'core';
  if (path.startsWith('server/actions/')) return 'actions';
  if (path.startsWith('server/gltf/')) return 'gltf';
  if (path.startsWith('server/usd/')) return 'usd';
  if (path.startsWith('server/images/')) return 'images';
  if (path.startsWith('server/http/contracts/')) return 'contracts';
  if (path.startsWith('server/threads/')) return 'threads';
  if (path.startsWith('server/http/')) return 'http';
  if (path.startsWith('server/import/')) return 'import';
  if (path.startsWith('server/access/')) return 'access';
  if (path.startsWith('server/planning/')) return 'planning';
  if (path.startsWith('server/demo/')) return 'demo';
  if (path.startsWith('server/commands/')) return 'root';
  if (path === 'server/config.ts') return 'config';
  if (/^server\/(set-up|built-parts|find-browser)\.(mjs|d\.mts)$/.test(path)) return 'set-up';
  if (path === 'server/root.ts') return 'paths';
  if (/^server\/(main|open-context|open-studio|command-line)\.ts$/.test(path) || path === 'server/dyeworks.mjs')
    return 'root';
  if (path.startsWith('db/')) return 'db';
  if (path.startsWith('renderer/page/')) return 'page';
  if (path.startsWith('renderer/')) return 'renderer';
  if (path.startsWith('web/')) return 'web';
  if (path.startsWith('test/')) return 'test';
  return 'elsewhere';
}

interface Rule {
  readonly rooms: readonly Room[];
  /** Single files of other rooms. */
  readonly files?: readonly string[];
  /** Rooms of which types may be imported and nothing that runs. */
  readonly types?: readonly Room[];
  readonly packages: 'all' | 'none' | RegExp;
  readonly node: 'all' | 'none' | RegExp;
}

/** Plain files of the renderer that run on either side: they may import nothing but the core. */
const SHARED_BY_BOTH_SIDES = [
  'renderer/dither.ts',
  'renderer/driver.ts',
  'renderer/studio-version.ts',
  'renderer/tiles.ts',
];

const RULES: Record<Exclude<Room, 'test' | 'elsewhere'>, Rule> = {
  core: { rooms: ['core'], packages: /^colorjs\.io\/fn$/, node: 'none' },
  actions: {
    rooms: ['core', 'actions'],
    packages: /^(lru-cache|csv-stringify\/sync)$/,
    node: /^node:(async_hooks|crypto|events)$/,
  },
  // pixels and image files: glTF and the renderer read them alike
  images: { rooms: ['core', 'images'], packages: 'all', node: 'all' },
  // the format alone, which knows no glTF
  usd: { rooms: ['usd'], packages: 'none', node: 'all' },
  threads: { rooms: ['core', 'threads'], packages: /^(piscina|p-limit)$/, node: 'all' },
  gltf: { rooms: ['core', 'images', 'threads', 'usd', 'gltf'], packages: 'all', node: 'all' },
  db: { rooms: ['core', 'db'], packages: 'all', node: 'all' },
  // the node side speaks to the page through the browser, and knows the types of what it says
  renderer: { rooms: ['core', 'images', 'threads', 'renderer'], types: ['page'], packages: 'all', node: 'all' },
  http: { rooms: ['core', 'actions', 'config', 'http', 'contracts'], packages: 'all', node: 'all' },
  contracts: { rooms: ['core', 'contracts'], packages: /^typebox$/, node: 'none' },
  import: { rooms: ['core', 'threads', 'import'], packages: 'all', node: 'all' },
  // passphrases and the sign-in of the house
  access: { rooms: ['core', 'config', 'access'], packages: 'all', node: 'all' },
  planning: { rooms: ['core', 'threads', 'planning'], packages: /^tsx\/esm\/api$/, node: 'all' },
  demo: { rooms: ['core', 'actions', 'demo'], packages: 'all', node: 'all' },
  page: { rooms: ['core', 'page'], files: SHARED_BY_BOTH_SIDES, packages: /^three(-mesh-bvh)?(\/|$)/, node: 'none' },
  // types of answers and requests only: the schemas themselves stay out of the pages
  web: { rooms: ['core', 'page', 'web'], types: ['contracts'], packages: 'all', node: 'none' },
  config: { rooms: ['core', 'config'], packages: 'none', node: 'all' },
  paths: { rooms: [], packages: 'none', node: 'all' },
  'set-up': { rooms: ['set-up'], packages: 'none', node: 'all' },
  root: {
    rooms: [
      'root',
      'core',
      'actions',
      'images',
      'gltf',
      'http',
      'contracts',
      'import',
      'access',
      'planning',
      'demo',
      'db',
      'renderer',
      'config',
      'paths',
      'set-up',
    ],
    packages: 'all',
    node: 'all',
  },
  // what builds and packs; the build of the studio page looks whether three's shaders are still those it changes
  tools: { rooms: ['tools', 'set-up'], files: ['renderer/page/studio-shading.ts'], packages: 'all', node: 'all' },
};

/** Why a file may not import something; null when it may. */
function refuse(path: string, { target, kind, typeOnly }: Arrow): string | null {
  const room = roomOf(path);
  if (room === 'test') return null;
  if (room === 'elsewhere') return `${path} is in no room`;
  const rule = RULES[room];
  if (kind === 'file') {
    if (rule.rooms.includes(roomOf(target)) || rule.files?.includes(target)) return null;
    if (typeOnly && rule.types?.includes(roomOf(target))) return null;
    return `${path} (${room}) imports ${target} (${roomOf(target)})`;
  }
  const allowed = kind === 'node' ? rule.node : rule.packages;
  if (allowed === 'all' || (allowed !== 'none' && allowed.test(target))) return null;
  return `${path} (${room}) imports ${target}`;
}

describe('imports', () => {
  it('are read from every room', () => {
    for (const room of [
      'core',
      'actions',
      'gltf',
      'http',
      'import',
      'demo',
      'db',
      'renderer',
      'page',
      'web',
      'root',
    ] as const)
      expect(arrows.filter(({ path }) => roomOf(path) === room).length, room).toBeGreaterThan(3);
    expect(arrows.length).toBeGreaterThan(400);
  });

  it('go the ways the house is laid out for, and no other', () => {
    expect(arrows.flatMap(({ path, ...arrow }) => refuse(path, arrow) ?? [])).toEqual([]);
  });

  it('name files that are there, with their extensions', () => {
    const missing = arrows.filter(({ kind, target }) => kind === 'file' && !existsSync(join(ROOT, target)));
    expect(missing.map(({ path, name }) => `${path}: ${name}`)).toEqual([]);
  });

  it('of packages are declared, and never a package of development', () => {
    const { dependencies, optionalDependencies } = JSON.parse(
      readFileSync(join(ROOT, 'package.json'), 'utf8'),
    ) as Record<'dependencies' | 'optionalDependencies', Record<string, string>>;
    const declared = { ...dependencies, ...optionalDependencies };
    // tsx reads the sources in a checkout; where the package is installed, bundles stand in for the files that load it
    const readsSources = (path: string, target: string) => path.endsWith('.mjs') && target === 'tsx/esm/api';
    const names = arrows
      .filter(({ kind, path, target }) => kind === 'package' && roomOf(path) !== 'tools' && !readsSources(path, target))
      .map(({ target }) =>
        target
          .split('/')
          .slice(0, target.startsWith('@') ? 2 : 1)
          .join('/'),
      );
    expect([...new Set(names)].filter((name) => !(name in declared))).toEqual([]);
  });

  it('of what runs in Node and in the page are of the core alone', () => {
    const wrong = arrows.filter(({ path, target }) => SHARED_BY_BOTH_SIDES.includes(path) && roomOf(target) !== 'core');
    expect(wrong).toEqual([]);
  });

  it('never reach from sources into the tests', () => {
    expect(arrows.filter(({ target }) => roomOf(target) === 'test')).toEqual([]);
  });
});

// each of these must be seen, or the check above could never fail
describe('an import that goes another way is seen', () => {
  it.each([
    ['server/core/colour/lab.ts', "import { readFile } from 'node:fs/promises';"],
    ['server/core/colour/lab.ts', "import 'culori';"],
    ['server/core/colour/lab.ts', "import { to } from 'colorjs.io';"],
    ['server/core/product/slot.ts', "import type { Files } from '../../../db/create-files.ts';"],
    ['server/core/product/slot.ts', "export { x } from '../../actions/deliver.ts';"],
    ['server/actions/deliver.ts', "import type { GltfJson } from '../gltf/json.ts';"],
    ['server/actions/deliver.ts', "import { readFile } from 'node:fs/promises';"],
    ['server/actions/deliver.ts', "import sharp from 'sharp';"],
    ['server/gltf/container.ts', "import { openDatabase } from '../../db/open-database.ts';"],
    ['server/gltf/container.ts', "const a = await import('../actions/deliver.ts');"],
    ['db/create-files.ts', "import { x } from '../renderer/driver.ts';"],
    ['renderer/driver.ts', "import type { x } from '../server/http/contracts/job.ts';"],
    ['renderer/driver.ts', "import { x } from './page/stage.ts';"],
    ['renderer/page/stage.ts', "import type { x } from '../create-renderer.ts';"],
    ['renderer/page/stage.ts', "import { join } from 'node:path';"],
    ['renderer/page/stage.ts', "import { x } from '../queues.ts';"],
    ['server/http/request-guard.ts', "import { x } from '../gltf/container.ts';"],
    ['server/import/read-import.ts', "import type { Context } from '../actions/context.ts';"],
    ['server/demo/lamp.ts', "import { x } from '../gltf/container.ts';"],
    ['web/main.tsx', "import { x } from '../server/http/request-guard.ts';"],
    ['web/main.tsx', "import { JobAnswer } from '../server/http/contracts/job.ts';"],
    ['web/main.tsx', "import type { x } from '../server/http/send-bytes.ts';"],
    ['server/http/contracts/job.ts', "import type { Job } from '../../actions/jobs.ts';"],
    ['server/http/contracts/job.ts', "import fastify from 'fastify';"],
    ['web/main.tsx', "import { x } from '../server/actions/deliver.ts';"],
    ['web/main.tsx', "import x from '../renderer/driver.ts';"],
    ['server/set-up.mjs', "import fastify from 'fastify';"],
    ['server/main.ts', "import { x } from '../test/support/glb.ts';"],
    ['server/other.ts', "import { x } from './main.ts';"],
    ['server/gltf/worker/worker.ts', "new Worker(new URL('../../../renderer/driver.ts', import.meta.url))"],
  ])('%s: %s', (path, line) => {
    const found = listImports(`/* a comment with import 'x' */\n// import 'y';\n${line}`);
    expect(found).toHaveLength(1);
    expect(refuse(path, classify(path, found[0]!))).not.toBeNull();
  });

  it.each([
    ['server/core/colour/lab.ts', "import { to } from 'colorjs.io/fn';"],
    ['web/main.tsx', "import type { ProductAnswer } from '../server/http/contracts/product.ts';"],
    ['web/main.tsx', "import { LiveView } from '../renderer/page/live-view.ts';"],
    ['renderer/studio-session.ts', "import type { StudioPage } from './page/main.ts';"],
    ['renderer/page/stage.ts', "import { Scene } from 'three';"],
    ['renderer/page/stage.ts', "import { X } from 'three/addons/x.js';"],
    ['server/main.ts', "import { openDatabase } from '../db/open-database.ts';"],
  ])('and one that may be is not: %s: %s', (path, line) => {
    const [found] = listImports(line);
    expect(refuse(path, classify(path, found!))).toBeNull();
  });
});

describe('the top level', () => {
  it('holds what it is fixed to hold, and dotfiles', () => {
    const wanted = [
      'DEVELOPERS.md',
      'LICENSE',
      'README.md',
      'db',
      'package-lock.json',
      'package.json',
      'renderer',
      'server',
      'test',
      'tsconfig.json',
      'web',
    ];
    const there = readdirSync(ROOT).filter((name) => !name.startsWith('.') && name !== 'node_modules');
    expect(there.sort()).toEqual(wanted);
  });

  it('has no source outside the rooms', () => {
    const strays = readdirSync(ROOT).filter((name) => SOURCE.test(name) && !name.startsWith('.'));
    expect(strays.map((name) => relative(ROOT, join(dirname(ROOT), name)))).toEqual([]);
  });
});
