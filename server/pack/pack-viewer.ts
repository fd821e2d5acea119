import { execFileSync } from 'node:child_process';
import { copyFileSync, cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Sources whose types shops see, and the names of their declarations in the package. */
const TYPES = [
  ['web/viewer/dyeworks-viewer', 'dyeworks-viewer'],
  ['web/viewer/plan-choices', 'plan-choices'],
  ['web/texts/viewer', 'viewer'],
] as const;

/**
 * Fills the folder of the viewer's own package: the built script with what it loads, types, a manifest of custom elements, the
 * README, the licence and the notice.
 * @param built folder with the built viewer
 */
export function fillViewerPackage(
  root: string,
  built: string,
  folder: string,
  project: { readonly version: string; readonly license: string },
  notice: string,
): void {
  mkdirSync(folder, { recursive: true });
  cpSync(built, folder, { recursive: true });
  writeTypes(root, folder);
  const own = join(root, 'web', 'viewer', 'package');
  for (const file of ['README.md', 'custom-elements.json']) copyFileSync(join(own, file), join(folder, file));
  copyFileSync(join(root, 'LICENSE'), join(folder, 'LICENSE'));
  writeFileSync(join(folder, 'NOTICE.md'), notice);
  const entry = './dyeworks-viewer.js';
  const head = {
    name: 'dyeworks-viewer',
    version: project.version,
    description: 'Shows a product in every variant of its GLB, on any page.',
    license: project.license,
    type: 'module',
    main: entry,
    types: './dyeworks-viewer.d.ts',
    exports: { '.': { types: './dyeworks-viewer.d.ts', default: entry }, './*': './*' },
    customElements: 'custom-elements.json',
    sideEffects: true,
  };
  writeFileSync(join(folder, 'package.json'), `${JSON.stringify(head, null, 2)}\n`);
}

function writeTypes(root: string, folder: string): void {
  const made = mkdtempSync(join(root, '.build', 'types-'));
  // without the files they import, whose types shops do not see
  const options = [
    ...[
      '--ignoreConfig',
      '--noResolve',
      '--noCheck',
      '--declaration',
      '--emitDeclarationOnly',
      '--verbatimModuleSyntax',
    ],
    ...['--allowImportingTsExtensions', '--target', 'es2023', '--module', 'esnext', '--moduleResolution', 'bundler'],
    ...['--rootDir', root, '--outDir', made],
  ];
  try {
    const compiler = join(root, 'node_modules', 'typescript', 'bin', 'tsc');
    const sources = TYPES.map(([source]) => join(root, `${source}.ts`));
    execFileSync(process.execPath, [compiler, ...sources, ...options], { cwd: root, stdio: 'pipe' });
    for (const [source, name] of TYPES) {
      const text = readFileSync(join(made, `${source}.d.ts`), 'utf8');
      writeFileSync(
        join(folder, `${name}.d.ts`),
        text.replace(/'(?:\.{1,2}\/)+(?:texts\/)?([\w-]+)\.ts'/g, "'./$1.js'"),
      );
    }
  } finally {
    rmSync(made, { recursive: true, force: true });
  }
}
