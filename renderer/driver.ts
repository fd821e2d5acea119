import type { RendererFacts } from '../server/core/ports/renderer.ts';

/** How pictures are drawn. */
type Driver = RendererFacts['driver'];

/** Reads the driver out of the GL renderer string, e.g. `ANGLE (Mesa, llvmpipe (LLVM 15.0.6, 256 bits), OpenGL 4.5)`. */
export function classifyDriver(gl: string): Driver {
  if (/swiftshader/i.test(gl)) return 'swiftshader';
  if (/llvmpipe|softpipe|software rasterizer/i.test(gl)) return 'llvmpipe';
  return 'gpu';
}

/** A way to start the browser's GL. */
export interface GlWay {
  readonly name: string;
  readonly flags: readonly string[];
}

/**
 * Ways to WebGL2, fastest first. EGL gives the browser the driver of the machine: a GPU's if there is one, else Mesa's
 * llvmpipe. So one launch is usually enough. SwiftShader is part of the browser and needs no driver. On the machines
 * tried it took about twice llvmpipe's time and half its texture size.
 */
export const GL_WAYS: readonly GlWay[] = [
  { name: 'egl', flags: ['--use-gl=angle', '--use-angle=gl-egl', '--ignore-gpu-blocklist'] },
  { name: 'swiftshader', flags: ['--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'] },
];
