// PNG with a palette, from a PNG with full colours: a drawing in few colours becomes a small file. As the PNG
// specification (third edition, W3C) has it: 8 bits, not interlaced.
import { deflateSync, inflateSync } from "node:zlib";

const SIGNATURE = Buffer.from("89504e470d0a1a0a", "hex");
const COLOURS_MAX = 256;

const CRC = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k += 1) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});

/** @param {Buffer} bytes */
function crc(bytes) {
  let c = 0xffffffff;
  for (const byte of bytes) c = CRC[(c ^ byte) & 0xff] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

/** @param {string} name @param {Buffer} data */
function chunk(name, data) {
  const out = Buffer.alloc(12 + data.length);
  out.writeUInt32BE(data.length, 0);
  out.write(name, 4, "latin1");
  data.copy(out, 8);
  out.writeUInt32BE(crc(out.subarray(4, 8 + data.length)), 8 + data.length);
  return out;
}

/** Size and colours, three bytes each. @param {Buffer} png */
export function decode(png) {
  let [at, width, height, channels] = [8, 0, 0, 0];
  const packed = [];
  while (at < png.length) {
    const length = png.readUInt32BE(at);
    const [name, data] = [png.toString("latin1", at + 4, at + 8), png.subarray(at + 8, at + 8 + length)];
    if (name === "IHDR") {
      [width, height] = [data.readUInt32BE(0), data.readUInt32BE(4)];
      channels = { 2: 3, 6: 4 }[data[9]] ?? 0;
      if (data[8] !== 8 || channels === 0 || data[12] !== 0) throw new Error("a PNG of 8-bit colours is expected");
    } else if (name === "IDAT") packed.push(data);
    at += 12 + length;
  }
  const raw = inflateSync(Buffer.concat(packed));
  const row = width * channels;
  const rows = Buffer.alloc(row * height);
  for (let y = 0; y < height; y += 1) {
    const filter = raw[y * (row + 1)];
    for (let x = 0; x < row; x += 1) {
      const left = x >= channels ? rows[y * row + x - channels] : 0;
      const up = y > 0 ? rows[(y - 1) * row + x] : 0;
      const corner = x >= channels && y > 0 ? rows[(y - 1) * row + x - channels] : 0;
      rows[y * row + x] = raw[y * (row + 1) + 1 + x] + predicted(filter, left, up, corner);
    }
  }
  const colours = Buffer.alloc(width * height * 3);
  for (let i = 0; i < width * height; i += 1) rows.copy(colours, 3 * i, channels * i, channels * i + 3);
  return { width, height, colours };
}

function predicted(filter, left, up, corner) {
  if (filter === 1) return left;
  if (filter === 2) return up;
  if (filter === 3) return (left + up) >> 1;
  if (filter !== 4) return 0;
  const [a, b, c] = [left, up, corner].map((v) => Math.abs(left + up - corner - v));
  return a <= b && a <= c ? left : b <= c ? up : corner;
}

/**
 * Colours that stand for all: first the most frequent, then again and again the one that is both frequent and far from
 * those there are, so that a thin line keeps its colour too. Every other colour becomes the nearest of them.
 * @param {Buffer} colours
 */
function palette(colours) {
  const counts = new Map();
  const keys = new Uint32Array(colours.length / 3);
  for (let i = 0; i < keys.length; i += 1) {
    keys[i] = (colours[3 * i] << 16) | (colours[3 * i + 1] << 8) | colours[3 * i + 2];
    counts.set(keys[i], (counts.get(keys[i]) ?? 0) + 1);
  }
  const rows = [...counts].map(([key, count]) =>
    ({ key, count, r: key >> 16, g: (key >> 8) & 0xff, b: key & 0xff, far: Infinity, place: 0 }));
  const table = [];
  while (table.length < COLOURS_MAX) {
    const next = rows.reduce((best, row) => (weight(row) > weight(best) ? row : best));
    if (next.far === 0) break;
    for (const row of rows) {
      const far = (row.r - next.r) ** 2 + (row.g - next.g) ** 2 + (row.b - next.b) ** 2;
      if (far < row.far) [row.far, row.place] = [far, table.length];
    }
    table.push([next.r, next.g, next.b]);
  }
  const places = new Map(rows.map(({ key, place }) => [key, place]));
  return { places: Uint8Array.from(keys, (key) => places.get(key)), table: table.flat() };
}

const weight = ({ count, far }) => (far === Infinity ? count * 1e6 : count * far);

/** The same picture with a palette. @param {Buffer} png */
export function withPalette(png) {
  const { width, height, colours } = decode(png);
  const { places, table } = palette(colours);
  const rows = Buffer.alloc((width + 1) * height);
  for (let y = 0; y < height; y += 1) Buffer.from(places.buffer, y * width, width).copy(rows, y * (width + 1) + 1);
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head[8] = 8;
  head[9] = 3;
  return Buffer.concat([
    SIGNATURE, chunk("IHDR", head), chunk("PLTE", Buffer.from(table)),
    chunk("IDAT", deflateSync(rows, { level: 9 })), chunk("IEND", Buffer.alloc(0)),
  ]);
}
