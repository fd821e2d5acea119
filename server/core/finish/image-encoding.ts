/** An ICC profile embedded in an image. */
export interface ImageProfile {
  /** As its author calls it; null without a name. */
  readonly name: string | null;
  /** Whether it does what sRGB does, whatever its name. */
  readonly isSrgb: boolean;
}

/** How an uploaded image states its colours, and what stands in for it as a colour map. */
export interface ImageEncoding {
  /** Null without an embedded profile: the codes are sRGB, as in any glTF image. */
  readonly profile: ImageProfile | null;
  readonly bitsPerChannel: 8 | 16;
  /** SHA-256 of the same image in 8-bit sRGB, which finishes use as colour map in its place; null where it serves itself. */
  readonly asColour: string | null;
  /** Share of texels, 0–1, whose colour lies outside sRGB and was cut to it; null where nothing was converted, or counted. */
  readonly outside: number | null;
}

/** What a conversion to sRGB comes to. */
export interface ConvertedColour {
  readonly profile: ImageProfile;
  /** PNG of 8-bit sRGB without a profile; null where the image needs no conversion, or its profile cannot be followed. */
  readonly png: Uint8Array | null;
  /** As in `ImageEncoding`. */
  readonly outside: number | null;
}
