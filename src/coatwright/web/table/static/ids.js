// Ids made when something is tapped, and the checksum that names a photo. Both work on plain http too, where the
// browser keeps crypto.randomUUID and crypto.subtle to itself.

/** A random id of version 4 (RFC 9562, 5.4). */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

const PRIMES = [];
for (let n = 2; PRIMES.length < 64; n++) if (PRIMES.every((p) => n % p)) PRIMES.push(n);
const fraction = (x) => Math.floor((x - Math.floor(x)) * 2 ** 32) | 0;
const K = Int32Array.from(PRIMES, (p) => fraction(Math.cbrt(p)));
const START = Int32Array.from(PRIMES.slice(0, 8), (p) => fraction(Math.sqrt(p)));
const turn = (x, n) => (x >>> n) | (x << (32 - n));

/** SHA-256 of bytes as hexadecimal (FIPS 180-4, 6.2). */
export function sha256(bytes) {
  const length = bytes.length;
  const padded = new Uint8Array((((length + 8) >> 6) + 1) << 6);
  padded.set(bytes);
  padded[length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor(length / 2 ** 29));
  view.setUint32(padded.length - 4, length << 3);
  const hash = Int32Array.from(START);
  const w = new Int32Array(64);
  for (let at = 0; at < padded.length; at += 64) {
    for (let t = 0; t < 16; t++) w[t] = view.getInt32(at + 4 * t);
    for (let t = 16; t < 64; t++) {
      const [x, y] = [w[t - 15], w[t - 2]];
      const s0 = turn(x, 7) ^ turn(x, 18) ^ (x >>> 3);
      const s1 = turn(y, 17) ^ turn(y, 19) ^ (y >>> 10);
      w[t] = (s1 + w[t - 7] + s0 + w[t - 16]) | 0;
    }
    let [a, b, c, d, e, f, g, i] = hash;
    for (let t = 0; t < 64; t++) {
      const s1 = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
      const one = (i + s1 + ((e & f) ^ (~e & g)) + K[t] + w[t]) | 0;
      const s0 = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
      const two = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [i, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
    }
    [a, b, c, d, e, f, g, i].forEach((value, k) => (hash[k] = (hash[k] + value) | 0));
  }
  return Array.from(hash, (word) => (word >>> 0).toString(16).padStart(8, "0")).join("");
}
