#pragma once
// The tables of docs/scene-reference.md, out of the lists that the reader itself walks.
#include <string>
#include <vector>

namespace catoptra {

/// One table of keys and the words that introduce it, as "shape sphere".
struct ReferenceTable {
  std::string name, markdown;
};

/// A table for every kind and for every table of a scene whose keys are numbers, in the order of the reference.
std::vector<ReferenceTable> reference_tables();

}  // namespace catoptra
