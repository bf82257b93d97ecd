// Picture files as cameras, other programs and accidents make them. Nothing here knows the app.
import { crc32, deflateSync } from 'node:zlib';

const be = (/** @type {number} */ n, size = 2) => Buffer.from(Array.from({ length: size }, (_, i) => (n >>> (8 * (size - 1 - i))) & 255));
const le = (/** @type {number} */ n, size = 2) => Buffer.from(be(n, size)).reverse();
const ascii = (/** @type {string} */ text) => Buffer.from(text, 'latin1');

/** A PNG of one bit a px, all of it white (ISO/IEC 15948). @param {number} width  @param {number} height */
export function png(width, height) {
  const chunk = (/** @type {string} */ kind, /** @type {Buffer} */ data) => { const body = Buffer.concat([ascii(kind), data]); return Buffer.concat([be(data.length, 4), body, be(crc32(body), 4)]); };
  const row = Buffer.alloc(1 + Math.ceil(width / 8), 255);
  row[0] = 0;
  return Buffer.concat([ascii('\x89PNG\r\n\x1a\n'), chunk('IHDR', Buffer.concat([be(width, 4), be(height, 4), Buffer.from([1, 0, 0, 0, 0])])), chunk('IDAT', deflateSync(Buffer.concat(Array(height).fill(row)))), chunk('IEND', Buffer.alloc(0))]);
}

/**
 * A GIF that shows its colours one after another for ever (GIF89a). The table has four; each px is written with three bits, and the codes are
 * begun anew so often that they never grow longer.
 * @param {[number, number, number][]} colours  @param {number} side
 */
export function gif(colours, side) {
  const table = Buffer.concat([0, 1, 2, 3].map((i) => Buffer.from(colours[i] ?? [0, 0, 0])));
  const frames = colours.map((_, colour) => Buffer.concat([ascii('!\xf9\x04'), Buffer.from([4]), le(20), Buffer.from([0, 0]), ascii(','), le(0), le(0), le(side), le(side), Buffer.from([0, 2]), blocks(coded(colour, side * side)), Buffer.from([0])]));
  return Buffer.concat([ascii('GIF89a'), le(side), le(side), Buffer.from([0x91, 0, 0]), table, ascii('!\xff\x0bNETSCAPE2.0\x03\x01'), le(0), Buffer.from([0]), ...frames, ascii(';')]);
}

/** @param {number} colour  @param {number} n of px @returns {Buffer} */
function coded(colour, n) {
  const [clear, end] = [4, 5];
  const codes = Array.from({ length: n }, (_, i) => (i % 2 ? [colour] : [clear, colour])).flat();
  const bits = [...codes, end].flatMap((code) => [code & 1, (code >> 1) & 1, (code >> 2) & 1]);
  return Buffer.from(Array.from({ length: Math.ceil(bits.length / 8) }, (_, i) => bits.slice(8 * i, 8 * i + 8).reduce((byte, bit, at) => byte | (bit << at), 0)));
}

/** @param {Buffer} data */
const blocks = (data) => Buffer.concat(Array.from({ length: Math.ceil(data.length / 255) }, (_, i) => { const part = data.subarray(255 * i, 255 * i + 255); return Buffer.concat([Buffer.from([part.length]), part]); }));

/** A WebP that moves, made of still ones of one size (RFC 9649). @param {Buffer[]} stills  @param {number} width  @param {number} height */
export function movingWebp(stills, width, height) {
  const chunk = (/** @type {string} */ kind, /** @type {Buffer} */ data) => Buffer.concat([ascii(kind), le(data.length, 4), data, Buffer.alloc(data.length % 2)]);
  const size = Buffer.concat([le(width - 1, 3), le(height - 1, 3)]);
  const frames = stills.map((still) => chunk('ANMF', Buffer.concat([Buffer.alloc(6), size, le(200, 3), Buffer.from([2]), image(still)])));
  const body = Buffer.concat([ascii('WEBP'), chunk('VP8X', Buffer.concat([Buffer.from([2, 0, 0, 0]), size])), chunk('ANIM', Buffer.alloc(6)), ...frames]);
  return Buffer.concat([ascii('RIFF'), le(body.length, 4), body]);
}

/** The picture itself in a still WebP. @param {Buffer} still */
function image(still) {
  for (let at = 12; at < still.length; at += 8 + still.readUInt32LE(at + 4) + (still.readUInt32LE(at + 4) % 2)) if (/^VP8[ L]/.test(still.toString('latin1', at, at + 4))) return still.subarray(at);
  throw new Error('no picture in the WebP');
}

/** What stands in the EXIF of a camera's JPEG so that nobody misses it. */
export const secret = 'Otter Lane 7';

/** A JPEG with EXIF that says how it must be turned, and where it was taken (JEITA CP-3451, 4.6). @param {Buffer} jpeg  @param {number} turned */
export function tagged(jpeg, turned) {
  const entry = (/** @type {number} */ tag, /** @type {number} */ type, /** @type {number} */ count, /** @type {Buffer} */ value) => Buffer.concat([be(tag), be(type), be(count, 4), value]);
  const [head, ifds] = [Buffer.concat([ascii('MM'), be(42), be(8, 4)]), 8];
  // The main directory has 2 entries and takes 30 bytes; that of the place has 4 and takes 54; what is longer than 4 bytes lies behind both.
  const [place, data] = [ifds + 30, ifds + 84];
  const degrees = (/** @type {number[]} */ all) => Buffer.concat(all.flatMap((n) => [be(n, 4), be(1, 4)]));
  const main = Buffer.concat([be(2), entry(274, 3, 1, Buffer.concat([be(turned), be(0)])), entry(0x8825, 4, 1, be(place, 4)), be(0, 4)]);
  const gps = Buffer.concat([be(4), entry(1, 2, 2, ascii('N\0\0\0')), entry(2, 5, 3, be(data, 4)), entry(3, 2, 2, ascii('E\0\0\0')), entry(4, 5, 3, be(data + 24, 4)), be(0, 4)]);
  const tiff = Buffer.concat([head, main, gps, degrees([52, 31, 12]), degrees([13, 24, 36]), ascii(secret)]);
  const segment = (/** @type {number} */ marker, /** @type {Buffer} */ body) => Buffer.concat([Buffer.from([0xff, marker]), be(body.length + 2), body]);
  return Buffer.concat([jpeg.subarray(0, 2), segment(0xe1, Buffer.concat([ascii('Exif\0\0'), tiff])), segment(0xe1, ascii(`http://ns.adobe.com/xap/1.0/\0<x>${secret}</x>`)), segment(0xed, ascii(`Photoshop 3.0\0${secret}`)), segment(0xfe, ascii(secret)), jpeg.subarray(2)]);
}

/** Which segments a JPEG has (ITU-T T.81, annex B). @param {Buffer} jpeg @returns {number[]} */
export function segments(jpeg) {
  const found = [];
  for (let at = 2; at < jpeg.length && jpeg[at + 1] !== 0xda; at += 2 + jpeg.readUInt16BE(at + 2)) found.push(jpeg[at + 1]);
  return found;
}
