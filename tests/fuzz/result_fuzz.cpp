// Hurts result files, always in the same way, and reads them: no crash but inside the HDF5 library, no hang, no error
// without words; a byte that changed is found by the checksum, and a file is never read as another.
// `result_fuzz SCENE ROUNDS [FIRST]`
//
// The files are read without the process that read_result puts between the library's crashes and us: so rounds are
// quick, and a sanitizer sees all that our code does. Where the library crashes, read_result must then say so.
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <span>
#include <stdexcept>
#include <string>
#include <unistd.h>
#include <vector>

#include "files/file_check.h"
#include "files/stored_scene.h"
#include "files/write_result.h"
#include "files/write_schedule.h"
#include "hurt.h"
#include "pictures/page_data.h"
#include "pictures/page_view.h"
#include "rounds.h"
#include "scene/read.h"
#include "scene/read_file.h"
#include "trace/trace.h"
#include "words/comparison.h"
#include "words/export_csv.h"
#include "words/schedule_rows.h"

namespace {

using namespace catoptra;
using fuzz::below, fuzz::Damage, fuzz::Random;

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}
/// A new file each time: the library knows again one that it could not close.
void put(const std::string& path, const std::string& bytes) {
  std::filesystem::remove(path);
  std::ofstream(path, std::ios::binary) << bytes;
}
std::string with_check(const std::string& bytes) {
  return bytes + file_check(std::as_bytes(std::span(bytes)));
}

/// All that reads a result: errors must have words, and not those of a container.
std::string used(const StoredFile& file) {
  std::string out;
  const auto attempt = [&](const std::function<void()>& work) {
    try {
      work();
    } catch (const std::out_of_range& fault) {
      throw std::logic_error(fault.what());
    } catch (const std::runtime_error& fault) {
      out += fault.what();
    }
  };
  attempt([&] { out += file_json(file); });
  attempt([&] { out += page_view(file).view; });
  attempt([&] { out += comparison_text(std::vector<StoredFile>{file, file}); });
  attempt([&] { paths_of(file); });
  for (const auto& receiver : receivers_of(file)) attempt([&] { flux_of(file, receiver); });
  if (is_schedule(file)) attempt([&] { out += schedule_csv(scene_of(file), schedule_of(file)); });
  return out;
}

enum Kind : std::size_t { kept_check, lost_check, made_to_fit, content_changed, kinds };
constexpr const char* kind_names[]{"bytes changed, checksum kept", "bytes changed, no checksum",
                                   "bytes changed, checksum made to fit", "content changed"};
enum Found : std::size_t { was_read, refused };
constexpr std::size_t outcome(Kind kind, Found found) {
  return 2 * kind + found;
}

/// Reads a hurt file; `sound` is what the whole one holds: a file that keeps its checksum must not be read as another.
Found look(const std::string& path, const std::string* sound) {
  try {
    const FileState state = state_of_file(path);
    if (state == FileState::damaged) return refused;
    StoredFile file = read_result_here(path);
    file.has_checksum = state == FileState::sound;
    const std::string found = used(file);
    // Where it is cut or grows at its end, the line is no longer there to tell.
    if (sound != nullptr && state == FileState::sound && found != *sound)
      throw std::logic_error("a damaged file is read as another");
    return was_read;
  } catch (const std::runtime_error& fault) {
    if (std::string_view(fault.what()).find(path) == std::string_view::npos)
      throw std::logic_error(std::string("an error without the path: ") + fault.what());
    return refused;
  }
}

struct Sound {
  std::string bytes, used;
};

std::size_t play(long round, const std::string& path, const std::vector<Sound>& files) {
  Random random(static_cast<std::uint64_t>(round) * 7919 + 1);
  const Sound& sound = files[below(random, files.size())];
  const std::string content = sound.bytes.substr(0, sound.bytes.size() - file_check_size);
  const Damage damage = below(random, 4) == 0 ? Damage::of_any_length : Damage::in_place;
  switch (round % 8) {
    case 0:
      put(path, mutated(sound.bytes, Damage::of_any_length, random));
      return outcome(kept_check, look(path, &sound.used));
    case 1:
    case 2:
      put(path, mutated(content, damage, random));
      return outcome(lost_check, look(path, nullptr));
    case 3:
      put(path, sound.bytes);
      fuzz::change_content(path, random);
      if (below(random, 2) == 0) put(path, with_check(bytes_of(path)));
      return outcome(content_changed, look(path, nullptr));
    default:
      put(path, with_check(mutated(content, damage, random)));
      return outcome(made_to_fit, look(path, nullptr));
  }
}

/// A result and a schedule, as small as they can be with all that such files hold.
std::vector<Sound> sound_files(const char* scene_path, const std::string& path) {
  std::string text = read_whole_file(scene_path);
  if (const auto bins = text.find("bins = [64, 64]"); bins != std::string::npos)
    text.replace(bins, 15, "bins = [5, 4]");
  const Scene scene = *read_scene_text(text, "fuzz.toml").scene;
  Workers alone(1);
  const TraceResult result = trace(scene, {.samples = 1 << 12, .replicates = 2, .workers = &alone, .paths = 4});
  const Provenance from{"Catoptra", "GCC", "AVX2", "2026-06-21T11:30:00Z", "catoptra trace", true};
  Schedule schedule;
  schedule.rows.push_back({own_moment(scene), poses_of(scene), result, false});
  std::vector<Sound> out;
  const auto keep = [&] { out.push_back({bytes_of(path), used(read_result(path))}); };
  write_result(path, scene, result, from);
  keep();
  write_schedule(path, scene, schedule, from);
  keep();
  return out;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) {
    std::fputs("usage: result_fuzz SCENE ROUNDS [FIRST]\n", stderr);
    return 2;
  }
  const long rounds = std::atol(argv[2]), first = argc > 3 ? std::atol(argv[3]) : 0;
  std::string name = (std::filesystem::temp_directory_path() / "catoptra-fuzz-XXXXXX").string();
  const std::filesystem::path folder = mkdtemp(name.data());
  const std::string path = folder / "hurt.h5";
  const std::vector<Sound> files = sound_files(argv[1], path);
  int code = 0;
  long shown = 0;
  const auto fail = [&](long round, const std::string& words) {
    std::fprintf(stderr, "round %ld: %s\n", round, words.c_str());
    code = 1;
  };
  const auto found = fuzz::run_rounds(
      first, rounds, "libhdf5", [&](long round) { return play(round, path, files); },
      [&](const fuzz::Crash& crash) {
        if (crash.hangs && ++shown <= 3)
          std::printf("round %ld: HDF5 does not end\n%s\n", crash.round, crash.report.c_str());
        if (crash.hangs) return;
        try {  // what stood in memory may have had its part, so it may well be read alone
          used(read_result(path));
        } catch (const std::runtime_error& fault) {
          if (std::string_view(fault.what()).find(path) == std::string_view::npos) fail(crash.round, fault.what());
        }
      });
  std::filesystem::remove_all(folder);
  for (std::size_t kind = 0; kind < kinds; ++kind)
    std::printf("%-36s %ld read, %ld refused\n", kind_names[kind], found.outcomes[outcome(Kind(kind), was_read)],
                found.outcomes[outcome(Kind(kind), refused)]);
  std::printf("HDF5 crashes %ld times, does not end %ld times\n", found.crashes, found.hangs);
  if (!found.fault.report.empty()) fail(found.fault.round, found.fault.report);
  for (const Kind kind : {lost_check, made_to_fit, content_changed})
    for (const Found end : {was_read, refused})
      if (code == 0 && rounds >= 1000 && found.outcomes[outcome(kind, end)] == 0) {
        std::fputs("damage too weak or too strong to show anything\n", stderr);
        code = 1;
      }
  return code;
}
