#include "results/put_realisations.h"

#include "results/put_common.h"
#include "results/realisation_rows.h"

namespace catoptra {

void put_realisations(Hdf5File& file, const Realisations& realisations) {
  using namespace hdf5_units;
  const std::string group = "/realisations/";
  const Scales over_builds{group + "build"};
  std::vector<std::int64_t> numbers;
  std::vector<double> intercept, intercept_error, share, share_error;
  for (const Realisation& build : realisations.builds) {
    numbers.push_back(static_cast<std::int64_t>(numbers.size() + 1));
    intercept.push_back(build.intercept_factor.value);
    intercept_error.push_back(build.intercept_factor.standard_error);
    share.push_back(build.absorbed_share.value);
    share_error.push_back(build.absorbed_share.standard_error);
  }
  file.put_scale(group + "build", numbers, ratio, LongName{"builds, each with errors of its own"});
  file.describe(group + "build", "asked", static_cast<std::int64_t>(realisations.asked));
  const auto put_pair = [&](const std::string& name, const std::vector<double>& values,
                            const std::vector<double>& errors, const Scales& scales, const std::string& long_name) {
    put_with_errors(file, group + name, values, group + name + "_standard_error", errors, scales, ratio, long_name);
  };
  put_pair("intercept_factor", intercept, intercept_error, over_builds,
           "power that reaches the receivers / power that leaves the last mirror unblocked, all suns");
  put_pair("absorbed_share", share, share_error, over_builds, "absorbed power / that without the errors, all suns");

  const std::vector<double> percentiles(quoted_percentiles.begin(), quoted_percentiles.end());
  std::vector<double> at, at_error;
  for (const double below : percentiles) {
    const Estimate found = share_percentile(realisations, below);
    at.push_back(found.value);
    at_error.push_back(found.standard_error);
  }
  file.put_scale(group + "below", percentiles, ratio, LongName{"share of the builds"});
  put_pair("absorbed_share_at", at, at_error, {group + "below"},
           "absorbed share that this share of builds stays below");
  const Estimate mean = mean_share(realisations);
  file.put(group + "mean_absorbed_share", mean.value, ratio, LongName{"mean absorbed share over the builds"});
  file.describe(group + "mean_absorbed_share", "standard_error", mean.standard_error);

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
