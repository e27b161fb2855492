/**
 * What the browser does for a pack and C++ on the phone cannot: check the signature (Ed25519, by
 * noble-ed25519) and unpack (zlib, by the browser itself). The layout is that of server/pack/pack_file.hpp.
 */
import { verifyAsync } from '../vendor/noble-ed25519.js';

const signedBytes = 104;
const headerBytes = 168;

/**
 * The payload, unpacked, of a file whose header the core has read and found good.
 * @param {Uint8Array} file
 * @param {{public_key: string, signature: string, unpacked_bytes: number}} header
 * @returns {Promise<{bytes: Uint8Array} | {refused: string}>}
 */
export async function checkedPayload(file, header) {
  if (!(await isSigned(file, header))) return { refused: "its signature is not the server's" };
  const bytes = await unpacked(file.subarray(headerBytes), header.unpacked_bytes);
  return bytes ? { bytes } : { refused: 'its content cannot be unpacked' };
}

async function isSigned(file, header) {
  try {
    return await verifyAsync(header.signature, file.slice(0, signedBytes), header.public_key);
  } catch {
    return false; // not a point of the curve, for instance
  }
}

/** Exactly `size` bytes, or null. Never holds more, whatever the content would unpack to. */
async function unpacked(packed, size) {
  const bytes = new Uint8Array(size);
  let filled = 0;
  const reader = new Blob([packed]).stream().pipeThrough(new DecompressionStream('deflate')).getReader();
  try {
    for (let part = await reader.read(); !part.done; part = await reader.read()) {
      if (filled + part.value.length > size) return null;
      bytes.set(part.value, filled);
      filled += part.value.length;
    }
  } catch {
    return null;
  } finally {
    reader.cancel().catch(() => {});
  }
  return filled === size ? bytes : null;
}
