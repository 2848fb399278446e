// Reference answers from the Flexible Collision Library (Debian: libfcl-dev 0.7) for tests and speed ratios.
//
// Build: g++ -O3 -DNDEBUG -std=c++14 fcl.cpp -o fcl $(pkg-config --cflags --libs fcl ccd)
//
// Lengths are mm. PLACE is 12 numbers, a row-major 3x4 matrix, part -> world. SHAPE is one of
//   box X Y Z | cylinder DIAMETER LENGTH | cone DIAMETER_AT_-Z DIAMETER_AT_+Z LENGTH | capsule DIAMETER LENGTH | sphere DIAMETER
// each centred on its own origin with its axis along z; a capsule's length is between the centres.
//
// fcl pairs [TOLERANCE]: each line of standard input is "SHAPE PLACE SHAPE PLACE"; each line of standard output is
//   DISTANCE AX AY AZ BX BY BZ     -1 0 0 0 0 0 0 for an overlap, nan ... when FCL gives up
//
// fcl scene [TOLERANCE]: standard input holds, a line each, in this order
//   part GROUP SHAPE [PLACE]       parts are numbered from 0; group 0 does not move and has its PLACE here
//   skip I J                       a pair that is not looked at
//   pose PLACE PLACE ...           one PLACE for each part that is not in group 0, in the order of the parts
// and for every pose the least distance over all pairs of different groups that are not skipped is written as
//   DISTANCE I J AX AY AZ BX BY BZ
// with I < J (I J -1 -1 when there is no pair); a last line "seconds S poses N" gives the time for moving, updating and querying.
// There is one DynamicAABBTreeCollisionManager a group.
//
// Distances are by FCL's libccd solver, its default, with distance_tolerance 1e-9 or TOLERANCE (FCL's own default is 1e-6). FCL has no frustum: a
// cone with one diameter 0 is fcl::Cone, and a true frustum goes to the same solver by a support function of its own.

#include <fcl/fcl.h>
#include <fcl/narrowphase/detail/convexity_based_algorithm/gjk_libccd.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <memory>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

using Vec = fcl::Vector3d;
using Transform = fcl::Transform3d;
namespace gjk = fcl::detail;

static double tolerance = 1e-9;
static const unsigned max_iterations = 1000;

struct Shape {
  std::string kind;
  std::vector<double> size;
  Transform local = Transform::Identity();  // FCL's own frame of the shape in ours
  std::shared_ptr<fcl::CollisionGeometryd> geometry;  // for a frustum: a cylinder around it, used for its box only
  bool frustum() const { return kind == "cone" && size[0] > 0 && size[1] > 0; }
};

static bool read(std::istream& in, Shape& s) {
  if (!(in >> s.kind)) return false;
  size_t n = s.kind == "box" || s.kind == "cone" ? 3 : s.kind == "sphere" ? 1 : 2;
  s.size.resize(n);
  for (double& v : s.size)
    if (!(in >> v)) return false;
  const std::vector<double>& z = s.size;
  if (s.kind == "box") {
    s.geometry = std::make_shared<fcl::Boxd>(z[0], z[1], z[2]);
  } else if (s.kind == "cylinder") {
    s.geometry = std::make_shared<fcl::Cylinderd>(z[0] / 2, z[1]);
  } else if (s.kind == "capsule") {
    s.geometry = std::make_shared<fcl::Capsuled>(z[0] / 2, z[1]);
  } else if (s.kind == "sphere") {
    s.geometry = std::make_shared<fcl::Sphered>(z[0] / 2);
  } else if (s.kind == "cone") {
    if (s.frustum()) {
      s.geometry = std::make_shared<fcl::Cylinderd>(std::max(z[0], z[1]) / 2, z[2]);
    } else {
      s.geometry = std::make_shared<fcl::Coned>(std::max(z[0], z[1]) / 2, z[2]);  // apex at +z
      if (z[0] == 0) s.local.linear() = fcl::AngleAxisd(M_PI, Vec::UnitX()).toRotationMatrix();
    }
  } else {
    return false;
  }
  return true;
}

static bool read(std::istream& in, Transform& t) {
  t.setIdentity();
  for (int r = 0; r < 3; r++)
    for (int c = 0; c < 4; c++) {
      double v;
      if (!(in >> v)) return false;
      if (c < 3)
        t.linear()(r, c) = v;
      else
        t.translation()(r) = v;
    }
  return true;
}

// A frustum for libccd.
struct Frustum {
  Transform place;
  double minus, plus, half;
};

static void support_frustum(const void* object, const ccd_vec3_t* direction, ccd_vec3_t* out) {
  const Frustum& f = *static_cast<const Frustum*>(object);
  Vec d = f.place.linear().transpose() * Vec(direction->v[0], direction->v[1], direction->v[2]);
  double across = std::hypot(d.x(), d.y());
  bool top = f.half * d.z() + f.plus * across >= -f.half * d.z() + f.minus * across;
  double radius = top ? f.plus : f.minus;
  Vec x(0, 0, top ? f.half : -f.half);
  if (across > 0) x += Vec(radius * d.x() / across, radius * d.y() / across, 0);
  x = f.place * x;
  ccdVec3Set(out, x.x(), x.y(), x.z());
}

// A shape as libccd sees it.
struct Object {
  void* data = nullptr;
  gjk::GJKSupportFunction support = nullptr;
  void (*release)(void*) = nullptr;
  ~Object() { release(data); }
  Object(const Object&) = delete;

  template <typename T>
  void make(const Shape& s, const Transform& t) {
    using Init = gjk::GJKInitializer<double, T>;
    data = Init::createGJKObject(static_cast<const T&>(*s.geometry), t);
    support = Init::getSupportFunction();
    release = Init::deleteGJKObject;
  }
  Object(const Shape& s, const Transform& t) {
    if (s.frustum()) {
      data = new Frustum{t, s.size[0] / 2, s.size[1] / 2, s.size[2] / 2};
      support = support_frustum;
      release = [](void* p) { delete static_cast<Frustum*>(p); };
    } else if (s.kind == "box") {
      make<fcl::Boxd>(s, t);
    } else if (s.kind == "cylinder") {
      make<fcl::Cylinderd>(s, t);
    } else if (s.kind == "cone") {
      make<fcl::Coned>(s, t);
    } else if (s.kind == "capsule") {
      make<fcl::Capsuled>(s, t);
    } else {
      make<fcl::Sphered>(s, t);
    }
  }
};

struct Answer {
  double distance = std::nan("");
  Vec a = Vec::Zero(), b = Vec::Zero();
};

// measure returns the distance of two objects that stand where FCL's own frames of their shapes are.
static Answer measure(const Shape& sa, const fcl::CollisionObjectd& a, const Shape& sb, const fcl::CollisionObjectd& b) {
  Answer out;
  try {
    if (sa.frustum() || sb.frustum()) {
      Object oa(sa, a.getTransform()), ob(sb, b.getTransform());
      double d = -1;
      gjk::GJKDistance<double>(oa.data, oa.support, ob.data, ob.support, max_iterations, tolerance, &d, &out.a, &out.b);
      out.distance = d;
    } else {
      fcl::DistanceRequestd request(true, false, 0, 0, tolerance, fcl::GST_LIBCCD);
      fcl::DistanceResultd result;
      fcl::distance(&a, &b, request, result);
      out.distance = result.min_distance;
      out.a = result.nearest_points[0];
      out.b = result.nearest_points[1];
    }
  } catch (const std::exception&) {
    out.distance = std::nan("");
  }
  if (out.distance <= 0) {
    out.distance = -1;
    out.a = out.b = Vec::Zero();
  }
  return out;
}

static void print(const Answer& r) {
  std::printf(" %.17g %.17g %.17g %.17g %.17g %.17g\n", r.a.x(), r.a.y(), r.a.z(), r.b.x(), r.b.y(), r.b.z());
}

static int bad(long line) {
  std::fprintf(stderr, "fcl: line %ld: cannot read it; the format stands at the top of fcl.cpp\n", line);
  return 2;
}

static int pairs() {
  std::string text;
  for (long line = 1; std::getline(std::cin, text); line++) {
    std::istringstream in(text);
    Shape a, b;
    Transform ta, tb;
    if (!read(in, a) || !read(in, ta) || !read(in, b) || !read(in, tb)) return bad(line);
    fcl::CollisionObjectd oa(a.geometry, ta * a.local), ob(b.geometry, tb * b.local);
    Answer r = measure(a, oa, b, ob);
    std::printf("%.17g", r.distance);
    print(r);
  }
  return 0;
}

struct Scene {
  std::vector<Shape> shapes;
  std::vector<int> group;
  std::vector<std::unique_ptr<fcl::CollisionObjectd>> objects;
  std::set<std::pair<int, int>> skip;
};

struct Search {
  const Scene* scene;
  Answer best;
  int i = -1, j = -1;
};

static bool nearest(fcl::CollisionObjectd* a, fcl::CollisionObjectd* b, void* data, double& distance) {
  Search& s = *static_cast<Search*>(data);
  int i = static_cast<int>(reinterpret_cast<intptr_t>(a->getUserData()));
  int j = static_cast<int>(reinterpret_cast<intptr_t>(b->getUserData()));
  if (i > j) {
    std::swap(i, j);
    std::swap(a, b);
  }
  if (s.scene->skip.empty() || !s.scene->skip.count({i, j})) {
    Answer r = measure(s.scene->shapes[i], *a, s.scene->shapes[j], *b);
    if (r.distance < s.best.distance) {
      s.best = r;
      s.i = i;
      s.j = j;
    }
  }
  distance = s.best.distance;
  return distance <= 0;
}

static int scene() {
  Scene s;
  std::vector<std::unique_ptr<fcl::DynamicAABBTreeCollisionManagerd>> managers;
  bool ready = false;
  double seconds = 0;
  long poses = 0;
  std::string text;
  for (long line = 1; std::getline(std::cin, text); line++) {
    std::istringstream in(text);
    std::string word;
    if (!(in >> word)) continue;
    if (word == "part" && !ready) {
      int group;
      Shape shape;
      Transform place = Transform::Identity();
      if (!(in >> group) || group < 0 || !read(in, shape) || (group == 0 && !read(in, place))) return bad(line);
      s.objects.emplace_back(new fcl::CollisionObjectd(shape.geometry, place * shape.local));
      s.objects.back()->setUserData(reinterpret_cast<void*>(static_cast<intptr_t>(s.shapes.size())));
      s.shapes.push_back(shape);
      s.group.push_back(group);
      while (managers.size() <= static_cast<size_t>(group)) managers.emplace_back(new fcl::DynamicAABBTreeCollisionManagerd);
    } else if (word == "skip") {
      int i, j;
      if (!(in >> i >> j)) return bad(line);
      s.skip.insert({std::min(i, j), std::max(i, j)});
    } else if (word == "pose") {
      std::vector<Transform> places(s.objects.size());
      for (size_t i = 0; i < s.objects.size(); i++)
        if (s.group[i] != 0 && !read(in, places[i])) return bad(line);
      if (!ready) {
        for (size_t i = 0; i < s.objects.size(); i++) managers[s.group[i]]->registerObject(s.objects[i].get());
        for (auto& m : managers) m->setup();
        ready = true;
      }
      auto from = std::chrono::steady_clock::now();
      for (size_t i = 0; i < s.objects.size(); i++)
        if (s.group[i] != 0) {
          s.objects[i]->setTransform(places[i] * s.shapes[i].local);
          s.objects[i]->computeAABB();
        }
      for (size_t g = 1; g < managers.size(); g++) managers[g]->update();
      Search best;
      best.scene = &s;
      best.best.distance = INFINITY;
      for (size_t g = 0; g < managers.size() && best.best.distance > 0; g++)
        for (size_t h = g + 1; h < managers.size() && best.best.distance > 0; h++)
          if (!managers[g]->empty() && !managers[h]->empty()) managers[g]->distance(managers[h].get(), &best, nearest);
      seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - from).count();
      poses++;
      std::printf("%.17g %d %d", best.best.distance, best.i, best.j);
      print(best.best);
    } else {
      return bad(line);
    }
  }
  std::printf("seconds %.9g poses %ld\n", seconds, poses);
  return 0;
}

int main(int argc, char** argv) {
  std::string mode = argc >= 2 ? argv[1] : "";
  if (argc == 3) tolerance = std::atof(argv[2]);
  if (argc <= 3 && tolerance > 0) {
    if (mode == "pairs") return pairs();
    if (mode == "scene") return scene();
  }
  std::fprintf(stderr, "usage: fcl pairs|scene [TOLERANCE]\n");
  return 2;
}
