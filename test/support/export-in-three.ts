import sharp from 'sharp';
import type { Object3D } from 'three';
import { GLTFExporter } from 'three/addons/exporters/GLTFExporter.js';

/**
 * Exports a scene with the exporter of three.js, as a GLB. The exporter is made for browsers: stand-ins replace the
 * browser features it needs.
 */
export async function exportInThree(scene: Object3D): Promise<Uint8Array> {
  const lent: Record<string, unknown> = { FileReader: Reader, OffscreenCanvas: Canvas, ImageData: Pixels };
  const before = new Map(Object.keys(lent).map((name) => [name, Object.getOwnPropertyDescriptor(globalThis, name)]));
  for (const [name, value] of Object.entries(lent)) {
    Object.defineProperty(globalThis, name, { value, configurable: true, writable: true });
  }
  try {
    const glb = await new GLTFExporter().parseAsync(scene, { binary: true });
    return new Uint8Array(glb as ArrayBuffer);
  } finally {
    for (const [name, descriptor] of before) {
      if (descriptor) Object.defineProperty(globalThis, name, descriptor);
      else delete (globalThis as Record<string, unknown>)[name];
    }
  }
}

/** Pixels that are drawn onto a canvas. */
class Pixels {
  constructor(
    readonly data: Uint8ClampedArray,
    readonly width: number,
    readonly height: number,
  ) {}
}

/** A canvas that stores what is drawn on it and returns it as PNG. */
class Canvas {
  #pixels: Pixels | null = null;

  constructor(
    public width: number,
    public height: number,
  ) {}

  getContext() {
    return {
      translate: () => undefined,
      scale: () => undefined,
      putImageData: (pixels: Pixels) => {
        this.#pixels = pixels;
      },
    };
  }

  async convertToBlob(): Promise<Blob> {
    const { data, width, height } = this.#pixels!;
    const png = await sharp(Buffer.from(data), { raw: { width, height, channels: 4 } })
      .png()
      .toBuffer();
    return new Blob([new Uint8Array(png)], { type: 'image/png' });
  }
}

class Reader {
  result: ArrayBuffer | null = null;
  onloadend: () => void = () => undefined;

  readAsArrayBuffer(blob: Blob): void {
    void blob.arrayBuffer().then((bytes) => {
      this.result = bytes;
      this.onloadend();
    });
  }
}
