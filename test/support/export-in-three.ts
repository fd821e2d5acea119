import sharp from 'sharp';
import type { Object3D } from 'three';
import { GLTFExporter } from 'three/addons/exporters/GLTFExporter.js';

/** What three.js' exporter writes of a scene, as a GLB. It is made for browsers: what it needs of one is lent meanwhile. */
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

/** Pixels as they are put onto a canvas. */
class Pixels {
  constructor(
    readonly data: Uint8ClampedArray,
    readonly width: number,
    readonly height: number,
  ) {}
}

/** A canvas that keeps what is put on it and hands it out as PNG. */
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
