#include "files/put_realisations.h"

#include "files/names.h"
#include "files/put_common.h"

namespace catoptra {

void put_realisations(Hdf5File& file, const Realisations& realisations) {
  using namespace hdf5_units;
  const std::string group = "/realisations/";
  const Scales over_builds{group + "build"};
  std::vector<std::int64_t> numbers;
  std::vector<Estimate> intercept, share;
  for (const Realisation& build : realisations.builds) {
    numbers.push_back(static_cast<std::int64_t>(numbers.size() + 1));
    intercept.push_back(build.intercept_factor);
    share.push_back(build.absorbed_share);
  }
  file.put_scale(group + "build", numbers, ratio, LongName{"number of the build; each has errors of its own"});
  file.describe(group + "build", "asked", static_cast<std::int64_t>(realisations.asked));
  const auto put = [&](const std::string& name, const std::vector<Estimate>& estimates, const Scales& scales,
                       const std::string& long_name) {
    put_with_errors(file, group, name, "", estimates, scales, ratio, long_name);
  };
  put("intercept_factor", intercept, over_builds,
      "power that reaches the receivers / power that leaves the last mirror unblocked, all suns");
  put("absorbed_share", share, over_builds, "absorbed power / that without the errors, all suns");

  const std::vector<double> percentiles(quoted_percentiles.begin(), quoted_percentiles.end());
  std::vector<Estimate> at;
  for (const double below : percentiles) at.push_back(share_percentile(realisations, below));
  file.put_scale(group + "below", percentiles, ratio, LongName{"share of the builds that stay below a value"});
  put("absorbed_share_at", at, {group + "below"}, "value below which this share of the builds stays");
  put_estimate(file, group, "mean_absorbed_share", "", mean_share(realisations), ratio,
               "mean absorbed share over the builds");

  for (const DrawnName& error : drawn_names(realisations.rms)) {
    const Units unit{error.unit};
    const std::string key = error.name + "_" + error.suffix;
    file.put(group + "rms_" + key, error.rms, unit, LongName{"rms of the errors drawn, each axis"});
    for (std::size_t k = 0; k < realisations.components.size(); ++k) {
      std::vector<double> drawn;
      for (const Realisation& build : realisations.builds) {
        const Vec v = (1 / error.to_si) * error.drawn(build.drawn[k]);
        drawn.push_back(v.x);
        if (error.has_axes) drawn.insert(drawn.end(), {v.y, v.z});
      }
      const std::string path = group + realisations.components[k] + "/" + key;
      const LongName name{error.has_axes ? "errors drawn, about or along x, y, z" : "errors drawn"};
      file.put(path, drawn, error.has_axes ? Scales{group + "build", "/direction"} : over_builds, unit, name);
    }
  }
}

}  // namespace catoptra
